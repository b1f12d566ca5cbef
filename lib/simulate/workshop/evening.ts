import {createHash} from "node:crypto";
import {
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  renameSync,
  rmSync,
  statSync,
  writeFileSync,
} from "node:fs";
import {join, resolve} from "node:path";
import {z} from "zod";
import {InputError} from "../../result/error.ts";
import type {SealKey} from "../../trial/seal.ts";
import {logCsv} from "../csv.ts";
import {SESSION_FILE} from "../files.ts";
import {type TableDay, tableDay} from "./table-day.ts";

/** Folder of the instructor in the folder of an evening, and the file in it that tells every truth. */
export const INSTRUCTOR_FOLDER = "instructor";
export const TRUTHS_FILE = "truths.json";

const hash = z.string().regex(/^[0-9a-f]{64}$/);
const truthsSchema = z.strictObject({
  format: z.literal("fairpull.evening/1"),
  words: z.string(),
  seed: z.int().min(0),
  tables: z.array(
    z.strictObject({
      table: z.int().min(1),
      folder: z.string(),
      question: z.string(),
      letters: z.strictObject({A: z.enum(["baseline", "changed"]), B: z.enum(["baseline", "changed"])}),
      effect: z.strictObject({value: z.number(), unit: z.literal("s")}),
      relative_power: z.number(),
      commitment: z.string(),
      logs: z.array(z.strictObject({file: z.string(), sha256: hash})),
    }),
  ),
});

/** What the instructor's file says of an evening. */
export type Evening = z.infer<typeof truthsSchema>;
export type EveningTable = Evening["tables"][number];

/**
 * Reads the instructor's file.
 *
 * @param folder of the evening; messages call it `name`
 * @throws {InputError} exit code 2: there is none, or it is none
 */
export function readEvening(folder: string, name: string): Evening {
  const file = join(name, INSTRUCTOR_FOLDER, TRUTHS_FILE);
  const refuse = (words: string, hint: string) => {
    throw new InputError(2, {code: "evening-unreadable", file, words, hint});
  };
  let text = "";
  try {
    text = readFileSync(join(folder, INSTRUCTOR_FOLDER, TRUTHS_FILE), "utf8");
  } catch (error) {
    refuse(
      `the instructor's file cannot be read (${(error as NodeJS.ErrnoException).code})`,
      "name the folder that fairpull simulate workshop made",
    );
  }
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch {
    refuse("the instructor's file is no JSON", "restore it, or make the evening again from its seed");
  }
  const parsed = truthsSchema.safeParse(value);
  if (parsed.success) return parsed.data;
  const [issue] = parsed.error.issues;
  return refuse(
    `the instructor's file is not as it was written: ${issue.path.join(".") || "it"}: ${issue.message}`,
    "restore it, or make the evening again from its seed",
  ) as never;
}

/** A table that was made. */
export interface MadeTable {
  table: number;
  /** name below the folder of the evening */
  folder: string;
  files: string[];
}

/**
 * Makes the folders of some tables, each with its logs and its sealed session, and notes their truths in the instructor's file.
 * Everything is written beside first and moved when it is complete; nothing that is there is replaced but the instructor's file,
 * which grows.
 *
 * @param folder     of the evening, new, empty, or one made by this function; messages call it `name`
 * @param options    seed, default that of the evening that is there, else 1; `more` = further files of each table's folder
 * @throws {InputError} exit code 2: something else is in the folder, a table is there already, the evening has another seed
 */
export function makeTables(
  folder: string,
  tables: readonly number[],
  {
    name = folder,
    seed,
    more = () => new Map(),
  }: {name?: string; seed?: number; more?: (table: TableDay) => ReadonlyMap<string, string>} = {},
): MadeTable[] {
  const target = resolve(folder);
  const evening = eveningAt(target, name, seed);
  for (const table of tables) requireFree(evening, table, {target, name});
  const made: MadeTable[] = [];
  try {
    mkdirSync(join(target, INSTRUCTOR_FOLDER), {recursive: true});
    for (const table of tables) {
      const of = tableDay({seed: evening.seed, table});
      const files = new Map([
        ...of.day.runs.map((run): [string, string] => [run.file, logCsv(run)]),
        [SESSION_FILE, of.text],
        ...more(of),
      ]);
      const own = tableFolder(table);
      const beside = mkdtempSync(join(target, `.${own}-`));
      for (const [file, text] of files) writeFileSync(join(beside, file), text);
      renameSync(beside, join(target, own));
      evening.tables.push(truthOf(of, own, files));
      evening.tables.sort((a, b) => a.table - b.table);
      writeNew(join(target, INSTRUCTOR_FOLDER, `${own}-key.json`), keyText(of));
      writeNew(join(target, INSTRUCTOR_FOLDER, TRUTHS_FILE), `${JSON.stringify(evening, null, 2)}\n`);
      made.push({table, folder: own, files: [...files.keys()]});
    }
  } catch (error) {
    const {code, message} = error as NodeJS.ErrnoException;
    if (code === undefined) throw error;
    throw new InputError(2, {
      code: "folder-not-written",
      file: name,
      words: `cannot be written (${code}: ${message})`,
      hint: "name a folder where files can be made",
    });
  } finally {
    for (const left of existsSync(target) ? readdirSync(target) : [])
      if (/^\.table-\d\d-/.test(left)) rmSync(join(target, left), {recursive: true, force: true});
  }
  return made;
}

/** "table-07". */
export function tableFolder(table: number): string {
  return `table-${String(table).padStart(2, "0")}`;
}

function eveningAt(target: string, name: string, seed: number | undefined): Evening {
  const fresh: Evening = {
    format: "fairpull.evening/1",
    words: "for the instructor alone until every table has handed in: what is true of each table",
    seed: seed ?? 1,
    tables: [],
  };
  if (!existsSync(target)) return fresh;
  if (!statSync(target).isDirectory()) {
    throw new InputError(2, {
      code: "not-a-folder",
      file: name,
      words: "is a file",
      hint: "name a new folder",
    });
  }
  const [first, ...others] = readdirSync(target).sort();
  if (first === undefined) return fresh;
  if (!existsSync(join(target, INSTRUCTOR_FOLDER, TRUTHS_FILE))) {
    throw new InputError(2, {
      code: "folder-not-empty",
      file: name,
      words: `is not empty, and no evening of a workshop: it holds "${first}"${others.length ? ` and ${others.length} more` : ""}`,
      hint: "name a new folder",
    });
  }
  const evening = readEvening(target, name);
  if (seed === undefined || seed === evening.seed) return evening;
  throw new InputError(2, {
    code: "evening-seed",
    file: name,
    words: `the evening in this folder has another seed than ${seed}, and its tables would not belong together`,
    hint: "leave out --seed, or name a new folder for another evening",
  });
}

function requireFree(evening: Evening, table: number, {target, name}: {target: string; name: string}): void {
  const folder = tableFolder(table);
  if (!existsSync(join(target, folder)) && !evening.tables.some(made => made.table === table)) return;
  throw new InputError(2, {
    code: "table-taken",
    file: join(name, folder),
    words: `table ${table} has its test day already, and nothing is overwritten`,
    hint: "two tables of one number would have the same data: give the second one another number",
  });
}

function truthOf(
  {table, day, key, text}: TableDay,
  folder: string,
  files: Map<string, string>,
): EveningTable {
  const {effect, relativePower} = day.truth;
  return {
    table,
    folder,
    question: day.scenario.question,
    letters: key.letters,
    effect: {value: Number(effect.value.toPrecision(12)), unit: "s"}, // the scenarios of the workshop compare times
    relative_power: relativePower,
    commitment: /commitment: "([^"]+)"/.exec(text)![1],
    logs: day.runs.map(({file}) => ({
      file,
      sha256: createHash("sha256").update(files.get(file)!).digest("hex"),
    })),
  };
}

function keyText({table, key, day}: TableDay): string {
  const {arms} = day.scenario;
  const words = `table ${table}, for the instructor until its blind verdict is handed in: A is ${arms[key.letters.A]}, B is ${arms[key.letters.B]}`;
  const whole: SealKey & {words: string} = {...key, words};
  return `${JSON.stringify(whole, null, 2)}\n`;
}

/** Beside first, then in its place: the truths of an evening are never half written. */
function writeNew(file: string, text: string): void {
  writeFileSync(`${file}.part`, text);
  renameSync(`${file}.part`, file);
}
