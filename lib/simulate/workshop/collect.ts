import {existsSync, readdirSync, readFileSync} from "node:fs";
import {join} from "node:path";
import type {JudgeDocument} from "../../result/documents.ts";
import {judgeSchema} from "../../result/schemas/judge.ts";
import type {ClassSummary, CollectDocument, CollectedTable} from "../../result/workshop-documents.ts";
import {type Evening, type EveningTable, INSTRUCTOR_FOLDER, readEvening} from "./evening.ts";

/** A file that was handed in. */
interface HandedIn {
  file: string;
  document: JudgeDocument;
}

type Problem = CollectDocument["problems"][number];

/** Tables, counts and problems of an evening: what `collect` prints without its page. */
export type Collected = Pick<CollectDocument, "seed" | "level" | "tables" | "summary" | "problems">;

/** Below this an effect is none: the truth of a part that does nothing is 0 but for rounding [s]. */
const NOTHING_S = 1e-9;
/** A verdict is some 20 kB; what is larger is none. */
const MOST_BYTES = 4 * 2 ** 20;

/**
 * Gathers the verdicts of an evening: every file *.json in its folder, in the folders of the tables and in `verdicts/` that `judge
 * --json` or a notebook wrote. A verdict belongs to the table whose logs it was computed from, by their SHA-256, wherever it lies.
 * Differences are turned to changed − baseline where a table judged letters. What does not count is told and left where it is.
 *
 * @param folder of the evening; messages call it `name`
 * @throws {InputError} exit code 2: no instructor's file
 */
export function collectEvening(folder: string, {name = folder}: {name?: string} = {}): Collected {
  const evening = readEvening(folder, name);
  const problems: Problem[] = [];
  const handed = new Map<number, HandedIn[]>();
  for (const file of filesOf(folder)) {
    const document = readVerdict(join(folder, file));
    if (document === null) continue;
    if (typeof document === "string") {
      problems.push({code: "not-a-verdict", table: null, files: [file], words: `${file}: ${document}`});
      continue;
    }
    const found = tableOf(document, evening);
    if ("problem" in found) problems.push({...found.problem, files: [file]});
    else handed.set(found.table, [...(handed.get(found.table) ?? []), {file, document}]);
  }
  const tables = evening.tables.map(table => {
    const own = handed.get(table.table) ?? [];
    const given = oneOf(own);
    if (given === null && !problems.some(problem => problem.table === table.table)) {
      problems.push(
        own.length > 1
          ? {
              code: "verdict-twice",
              table: table.table,
              files: own.map(({file}) => file),
              words: `table ${table.table} has ${own.length} verdicts that differ (${own.map(({file}) => file).join(", ")}), so none counts; keep the one that the table stands by`,
            }
          : {
              code: "verdict-missing",
              table: table.table,
              files: [],
              words: `table ${table.table} has not handed in a verdict`,
            },
      );
    }
    return collectedTable(table, given);
  });
  return {
    seed: evening.seed,
    level: tables.length === 0 ? 0.95 : levelOf(handed),
    tables,
    summary: summaryOf(tables),
    problems: problems.sort((a, b) => (a.table ?? Infinity) - (b.table ?? Infinity)),
  };
}

/** Sums a class, or many evenings, up. */
export function summaryOf(tables: readonly CollectedTable[]): ClassSummary {
  const given = tables.flatMap(({truth, verdict}) => (verdict ? [{truth, ...verdict}] : []));
  const none = given.filter(({truth}) => Math.abs(truth) < NOTHING_S);
  const other = given.filter(({truth}) => Math.abs(truth) >= NOTHING_S);
  return {
    tables: tables.length,
    verdicts: given.length,
    intervals: given.filter(({interval}) => interval !== null).length,
    covered: given.filter(({covered}) => covered === true).length,
    null_verdicts: none.length,
    null_shown: none.filter(({shown}) => shown).length,
    other_verdicts: other.length,
    other_shown: other.filter(({shown, estimate, truth}) => shown && estimate! * truth > 0).length,
  };
}

/** Names of the files that may be verdicts, sorted, below the folder of the evening. */
function filesOf(folder: string): string[] {
  const json = (below: string) =>
    existsSync(join(folder, below))
      ? readdirSync(join(folder, below), {withFileTypes: true})
          .filter(entry => entry.isFile() && /\.json$/i.test(entry.name))
          .map(entry => (below === "" ? entry.name : `${below}/${entry.name}`))
      : [];
  const folders = readdirSync(folder, {withFileTypes: true})
    .filter(entry => entry.isDirectory() && !entry.name.startsWith(".") && entry.name !== INSTRUCTOR_FOLDER)
    .map(entry => entry.name);
  return ["", ...folders].flatMap(json).sort();
}

/** The verdict in a file; null where it is something else, words where it should be one and is not. */
function readVerdict(file: string): JudgeDocument | string | null {
  const bytes = readFileSync(file);
  if (bytes.length > MOST_BYTES) return null;
  let value: {format?: unknown; error?: unknown} | null;
  try {
    value = JSON.parse(textOf(bytes)) as typeof value;
  } catch {
    return "it is no JSON; hand it in again";
  }
  if (typeof value !== "object" || value === null || value.format !== "fairpull.judge/1") return null;
  if (value.error) return "it is the message of a judge that found nothing to judge; mend the session first";
  const parsed = judgeSchema.safeParse(value);
  if (parsed.success) return parsed.data as JudgeDocument;
  const [issue] = parsed.error.issues;
  return `it is no verdict as judge writes it (${issue.path.join(".") || "document"}: ${issue.message}); hand it in again`;
}

/** Some shells write UTF-16 behind ">". */
function textOf(bytes: Buffer): string {
  const utf16 = bytes[0] === 0xff && bytes[1] === 0xfe;
  return new TextDecoder(utf16 ? "utf-16le" : "utf-8").decode(bytes);
}

function tableOf(
  document: JudgeDocument,
  evening: Evening,
): {table: number} | {problem: Omit<Problem, "files">} {
  const logs = document.inputs.filter(({file}) => !/\.ya?ml$/i.test(file));
  const given = new Set(logs.map(({sha256}) => sha256));
  const matches = evening.tables.map(table => ({
    table,
    missing: table.logs.filter(({sha256}) => !given.has(sha256)).map(({file}) => file),
  }));
  const best = matches.reduce<(typeof matches)[number] | null>(
    (so, next) =>
      next.missing.length < next.table.logs.length && (!so || next.missing.length < so.missing.length)
        ? next
        : so,
    null,
  );
  const named = evening.tables.find(({question}) => question === document.question);
  const table = best?.table ?? named;
  if (!table) {
    return {
      problem: {
        code: "verdict-foreign",
        table: null,
        words: "a verdict on logs that were handed to no table of this evening; it is left out",
      },
    };
  }
  const known = new Set(table.logs.map(({sha256}) => sha256));
  const missing = best?.missing ?? table.logs.map(({file}) => file);
  const changed = [
    ...new Set([...missing, ...logs.filter(({sha256}) => !known.has(sha256)).map(({file}) => file)]),
  ].sort();
  if (changed.length === 0) return {table: table.table};
  return {
    problem: {
      code: "data-changed",
      table: table.table,
      words: `table ${table.table} judged other data than it was given (${changed.join(", ")} changed, added or taken out); it does not count until it is judged on its own logs`,
    },
  };
}

/** The verdict that counts: the only one, or the first of several that say the same. */
function oneOf(handed: readonly HandedIn[]): HandedIn | null {
  const [first, ...others] = handed;
  if (first === undefined) return null;
  const said = ({document}: HandedIn) => JSON.stringify([document.effect, document.verdict.state]);
  return others.every(other => said(other) === said(first)) ? first : null;
}

function collectedTable(table: EveningTable, given: HandedIn | null): CollectedTable {
  const {effect} = table;
  const of = {table: table.table, question: table.question, truth: effect.value, unit: effect.unit};
  if (given === null) return {...of, verdict: null};
  const {document, file} = given;
  const blind = document.checks.some(
    ({name, words}) => name === "sealed labels" && words.startsWith("judged blind"),
  );
  const sign = blind && table.letters.A === "changed" ? -1 : 1;
  const found = document.effect.interval;
  const ends = found === null ? null : [sign * found.low, sign * found.high].sort((a, b) => a - b);
  const interval = ends && {low: ends[0], high: ends[1]};
  const kept = document.checks.find(({name}) => name === "kept to the plan");
  return {
    ...of,
    verdict: {
      file,
      blind,
      state: document.verdict.state,
      shown: document.verdict.state.startsWith("shown"),
      estimate: document.effect.estimate === null ? null : sign * document.effect.estimate + 0,
      interval,
      covered: interval && interval.low <= effect.value && effect.value <= interval.high,
      excluded: document.excluded.length,
      departures: kept && kept.outcome !== "held" ? kept.words : null,
    },
  };
}

function levelOf(handed: ReadonlyMap<number, HandedIn[]>): number {
  for (const [{document}] of handed.values())
    if (document.effect.interval) return document.effect.interval.level;
  return 0.95;
}
