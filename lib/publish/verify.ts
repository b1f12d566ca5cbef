import {createHash} from "node:crypto";
import {mkdirSync, mkdtempSync, readFileSync, realpathSync, rmSync, statSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import path from "node:path";
import {compilerVersion} from "../kernel/tslab.ts";
import type {ChannelSession} from "../result/channel-session.ts";
import {InputError, inputErrorText} from "../result/error.ts";
import type {VerifyDocument} from "../result/verify-document.ts";
import {VERSION} from "../result/version.ts";
import {readData, readRecord} from "./blocks.ts";
import {resultOf} from "./collect.ts";
import {comparePages, compareValues} from "./compare.ts";
import {sharedPainter} from "./publish.ts";
import {compareDisplays, type Recomputed, recompute} from "./recompute.ts";
import type {PageRecord} from "./record.ts";
import {renderPage} from "./render.ts";
import {type PageSession, reportOf, sessionOf} from "./report-of.ts";
import {rerunNotebook} from "./rerun.ts";
import {fileProblem, nameProblem} from "./safe-file.ts";

export interface VerifyOptions {
  /** folder that holds the logs under the names that the session gives them; default those that the page carries */
  data?: string;
  /** run the page's own cells too, in a temporary folder; this is no sandbox. Default false */
  runNotebook?: boolean;
  /** longest time one cell may take [s] with `runNotebook`; default 300 */
  cellTimeLimitS?: number;
}

/** A page far beyond what `publish` writes is none of ours [bytes]. */
const MAX_PAGE_BYTES = 256 << 20;

/** The document of a page before anything of it was computed again. */
export function unverified(file: string): VerifyDocument {
  return {
    format: "fairpull.verify/1",
    page: file,
    outcome: null,
    words: "",
    inputs: [],
    differences: [],
    recomputed: [],
    not_recomputed: [],
    changed_cells: null,
    versions: null,
    notes: [],
  };
}

/**
 * Computes a published page again and compares. Without `runNotebook` nothing of the page is run: its session is judged by this
 * library on the given logs; result, library figures, library tables and checklist are compared number by number (9
 * significant figures); then the page is made again from its record and compared byte by byte, so that what a reader sees is
 * what the record holds. The text that the notebook's own cells compute is compared with the record alone; only running
 * them computes it again.
 *
 * @param file path of the page
 * @returns the outcome; a page that cannot be computed again says why in `words`
 * @throws {InputError} exit code 2: the page or the data folder is not there, or no data were given and the page carries none
 */
export async function verifyPage(file: string, options: VerifyOptions = {}): Promise<VerifyDocument> {
  const html = readPage(file);
  const document = unverified(file);
  const work = mkdtempSync(path.join(tmpdir(), "fairpull-verify-"));
  try {
    const record = readRecord(html, file);
    document.versions = {page: record.versions, here: versionsHere()};
    if (record.versions["fairpull"] !== VERSION) {
      document.notes.push(
        `the page was made by fairpull ${record.versions["fairpull"] ?? "of an unknown version"} and computed again by ${VERSION}: words may differ for that reason`,
      );
    }
    const recorded = resultOf(record.outputs)?.result ?? null;
    if (!record.session || !recorded) {
      return cannotRun(
        document,
        "the page carries no session file with a result, so there is nothing to compute",
      );
    }
    const folder = dataFolder(record, html, file, options, work);
    const session = sessionOf(record.session.text, nameInResult(record, recorded), folder);
    checkInputs(document, record, recorded, session, folder);
    const bad = document.inputs.filter(({state}) => state === "missing" || state === "refused");
    if (bad.length) {
      return cannotRun(
        document,
        `${bad.map(({file: name, state}) => `${name} is ${state}`).join(", ")}${document.notes.length ? ` (${document.notes.join("; ")})` : ""}`,
      );
    }
    const again = recompute(session);
    compareResults(document, record, recorded, again);
    document.differences.push(...comparePages(html, await pageAgain(record, html, file)));
    if (options.runNotebook) {
      const rerun = await rerunNotebook(record, folder, path.join(work, "rerun"), options.cellTimeLimitS);
      document.changed_cells = rerun.changedCells;
      document.differences.push(...rerun.differences);
      document.recomputed.push(...document.not_recomputed.splice(0));
      document.notes.push(...rerun.notes);
    }
    return concluded(document);
  } catch (error) {
    if (!(error instanceof InputError) || error.details.code === "option") throw error;
    return cannotRun(document, inputErrorText(error.details));
  } finally {
    rmSync(work, {recursive: true, force: true});
  }
}

function readPage(file: string): string {
  const refuse = (words: string) =>
    new InputError(2, {code: "option", file, words, hint: "give a page written by fairpull publish"});
  const stat = statSync(file, {throwIfNoEntry: false});
  if (!stat) throw refuse("there is no such file");
  if (!stat.isFile()) throw refuse("this is no file");
  if (stat.size > MAX_PAGE_BYTES) throw refuse(`${stat.size} bytes is no page`);
  return readFileSync(file, "utf8");
}

function versionsHere(): Record<string, string> {
  return {fairpull: VERSION, node: process.versions.node, TypeScript: compilerVersion()};
}

/** The folder that the session's logs are named from: the one given, or a temporary one with those that the page carries. */
function dataFolder(
  record: PageRecord,
  html: string,
  file: string,
  {data}: VerifyOptions,
  work: string,
): string {
  if (data !== undefined) {
    if (!statSync(data, {throwIfNoEntry: false})?.isDirectory()) {
      throw new InputError(2, {
        code: "option",
        words: `--data is "${data}", but that is no folder`,
        hint: "give the folder that holds the logs",
      });
    }
    return realpathSync(data);
  }
  if (record.data.length === 0) {
    throw new InputError(2, {
      code: "option",
      file,
      words: "the page does not carry its logs",
      hint: "give --data FOLDER, the folder that holds them under the names of the session",
    });
  }
  const folder = path.join(work, "data");
  mkdirSync(folder);
  for (const [name, bytes] of readData(record, html, file)) {
    const wrong = nameProblem(name);
    if (wrong !== null) {
      throw new InputError(1, {
        code: "name-refused",
        file,
        words: `the page carries a log named "${name}", which ${wrong}`,
        hint: "do not trust this page",
      });
    }
    const place = path.join(folder, name);
    mkdirSync(path.dirname(place), {recursive: true});
    writeFileSync(place, bytes);
  }
  return folder;
}

/** The session's name as the result has it, so that the result computed again names it the same. */
function nameInResult(record: PageRecord, result: Recomputed["result"]): string {
  const sha256 = createHash("sha256").update(record.session!.text).digest("hex");
  return (
    result.inputs.find(input => input.sha256 === sha256)?.file ??
    result.inputs.find(input => /\.ya?ml$/i.test(input.file))?.file ??
    record.session!.file
  );
}

/** Holds every file of the test against its hash in the page, after refusing names that lead anywhere but into the folder. */
function checkInputs(
  document: VerifyDocument,
  record: PageRecord,
  result: Recomputed["result"],
  session: PageSession,
  folder: string,
): void {
  const sessionName = path.posix.basename(record.session!.file);
  const hashes = new Map(result.inputs.map(input => [input.file, input.sha256]));
  for (const name of namedFiles(session)) {
    const problem = fileProblem(folder, name);
    if (problem === "missing") document.inputs.push({file: name, state: "missing"});
    else if (problem !== null) {
      document.inputs.push({file: name, state: "refused"});
      document.notes.push(`${name} ${problem}`);
    } else {
      const sha256 = createHash("sha256")
        .update(readFileSync(path.join(folder, name)))
        .digest("hex");
      const state = sha256 === hashes.get(name) ? "same" : "differs";
      document.inputs.push({file: name, state});
    }
  }
  const sessionFolder = path.posix.dirname(record.session!.file);
  for (const {file, sha256} of record.inputs) {
    // what else the notebook read beside the session, such as the truth of a simulated day
    const name = path.posix.relative(sessionFolder, file);
    if (file === record.session!.file || document.inputs.some(input => input.file === name)) continue;
    if (nameProblem(name) !== null || fileProblem(folder, name) !== null) {
      document.inputs.push({file: name, state: "not-needed"});
      continue;
    }
    const now = createHash("sha256")
      .update(readFileSync(path.join(folder, name)))
      .digest("hex");
    document.inputs.push({file: name, state: now === sha256 ? "same" : "differs"});
  }
  const text = createHash("sha256").update(record.session!.text).digest("hex");
  const inResult = [...hashes.values()].includes(text);
  document.inputs.unshift({file: sessionName, state: inResult ? "same" : "differs"});
  if (!inResult) document.notes.push("the session in the page is not the one that its result names");
  // A session beside the logs is not needed; where there is one, it must be that of the page.
  if (fileProblem(folder, sessionName) === null) {
    const beside = createHash("sha256")
      .update(readFileSync(path.join(folder, sessionName)))
      .digest("hex");
    if (beside !== text) {
      document.inputs[0]!.state = "differs";
      document.notes.push(`${sessionName} beside the logs is not the session in the page, which was used`);
    }
  }
}

/** Every file that a session names, each once: the values of its keys "file" and "…File", at any depth. */
function namedFiles(session: PageSession): string[] {
  const names = new Set<string>();
  const visit = (value: unknown, key: string) => {
    if (typeof value === "string" && /file$/i.test(key)) names.add(value);
    else if (typeof value === "object" && value !== null) {
      for (const [inner, content] of Object.entries(value)) visit(content, inner);
    }
  };
  const {file: _own, folder: _folder, ...rest} = session;
  visit(rest, "");
  if ("channels" in session)
    for (const engine of (session as ChannelSession).channels.engine) if (engine !== null) names.add(engine);
  return [...names];
}

function compareResults(
  document: VerifyDocument,
  record: PageRecord,
  recorded: Recomputed["result"],
  again: Recomputed,
): void {
  // versions are told by themselves, and the files were held against their hashes before
  const {versions: _made, inputs: _recorded, ...page} = recorded;
  const {
    versions: _here,
    inputs: _read,
    ...now
  } = JSON.parse(JSON.stringify(again.result)) as Recomputed["result"];
  document.differences.push(...compareValues("result: ", page, now));
  const report = reportOf(record.session!.text, record.session!.file, again.result);
  document.differences.push(...compareValues("checklist: ", record.report, report));
  const displays = compareDisplays(record.outputs, again);
  document.differences.push(...displays.differences);
  document.recomputed.push("result", ...(report ? ["checklist"] : []), ...displays.recomputed);
  document.not_recomputed.push(...displays.notRecomputed);
}

/** The page as this library makes it from the record; pictures that texts show are taken from the page by their hash. */
async function pageAgain(record: PageRecord, html: string, file: string): Promise<string> {
  const data = readData(record, html, file);
  const wanted = new Set(Object.values(record.pictures));
  const found = new Map<string, Buffer>();
  if (wanted.size) {
    for (const [, content] of html.matchAll(/ src="data:image\/[\w+.-]+;base64,([A-Za-z0-9+/=]+)"/g)) {
      const bytes = Buffer.from(content!, "base64");
      const sha256 = createHash("sha256").update(bytes).digest("hex");
      if (wanted.has(sha256)) found.set(sha256, bytes);
    }
  }
  return renderPage(record, {
    drawing: new Map(),
    painter: sharedPainter(),
    data: Buffer.concat([...data.values()]),
    picture: address => found.get(record.pictures[address] ?? "") ?? null,
  });
}

function cannotRun(document: VerifyDocument, why: string): VerifyDocument {
  return {...document, outcome: "cannot-run", words: `cannot run: ${why}`};
}

/** Differences named in the sentence; the document holds all of them. */
const NAMED = 3;

function concluded(document: VerifyDocument): VerifyDocument {
  const {differences, inputs} = document;
  const changed = inputs.filter(({state}) => state === "differs").map(input => input.file);
  const named = differences.slice(0, NAMED).map(({where, page, recomputed, by}) => {
    const size = by === null ? "" : ` (by ${by})`;
    return `${where}: page ${JSON.stringify(page)}, recomputed ${JSON.stringify(recomputed)}${size}`;
  });
  const more = differences.length > NAMED ? ` and ${differences.length - NAMED} more` : "";
  if (changed.length) {
    const effect = named.length ? `; the page then differs: ${named.join("; ")}${more}` : "";
    return {...document, outcome: "inputs-differ", words: `inputs differ: ${changed.join(", ")}${effect}`};
  }
  if (differences.length) {
    return {...document, outcome: "differs", words: `recomputed: differs: ${named.join("; ")}${more}`};
  }
  return {...document, outcome: "same", words: "recomputed: same"};
}
