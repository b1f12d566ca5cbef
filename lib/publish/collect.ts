import {createHash} from "node:crypto";
import {existsSync, readFileSync, statSync} from "node:fs";
import path from "node:path";
import {compilerVersion} from "../kernel/tslab.ts";
import type {Notebook, Output} from "../notebook/notebook.ts";
import {stripped} from "../notebook/write.ts";
import {InputError} from "../result/error.ts";
import type {ResultDocument} from "../result/result-document.ts";
import {resultSchema} from "../result/schemas/result.ts";
import {VERSION} from "../result/version.ts";
import {resultIn} from "./card.ts";
import type {PageRecord} from "./record.ts";
import {reportOf} from "./report-of.ts";

/** What a notebook gave, run here or long ago. */
export interface Given {
  /** of the code cells in order, already cut down to what a page shows */
  outputs: Output[][];
  inputs: readonly {file: string; sha256: string}[];
  wasRun: boolean;
}

/** The last result among outputs, and the output that carries it; null where there is none. */
export function resultOf(outputs: readonly Output[][]): {output: Output; result: ResultDocument} | null {
  const output = outputs.flat().findLast(entry => resultIn(entry) !== null);
  return output ? {output, result: resultIn(output)!} : null;
}

/**
 * Holds a result that a notebook or page brings along against its schema.
 *
 * @throws {InputError} exit code 1: it is none that this library could have written
 */
export function requireResult(outputs: readonly Output[][], file: string): void {
  const found = resultOf(outputs);
  const parsed = found && resultSchema.safeParse(found.result);
  if (!parsed || parsed.success) return;
  const {path: place, message} = parsed.error.issues[0]!;
  throw new InputError(1, {
    code: "result-malformed",
    file,
    words: `the result in it cannot be read (${place.join(".")}: ${message})`,
    hint: "it may come from another version of fairpull; run the notebook afresh",
  });
}

/** Session files are some kilobytes; a YAML file beyond this is something else. */
const MAX_SESSION_BYTES = 4_000_000;
/** Logs that a page may carry, before compression: beyond this a reader's browser and mail refuse the page. */
const MAX_DATA_BYTES = 32 << 20;

/**
 * Everything a page is made of, but its logs.
 *
 * @param file path of the notebook
 * @throws {InputError} exit code 2: the session that the result rests on has changed or is wrong
 */
export function collectRecord(
  notebook: Notebook,
  file: string,
  {outputs, inputs, wasRun}: Given,
  publishedAt: string | null,
): PageRecord {
  const folder = path.dirname(path.resolve(file));
  const result = resultOf(outputs)?.result ?? null;
  // The result names its files as its session does; what the run recorded are the same files, named from the notebook.
  const recorded = new Set(inputs.map(input => input.sha256));
  const all = [...inputs, ...(result?.inputs ?? []).filter(input => !recorded.has(input.sha256))];
  const session = result && sessionAmong(all, result, folder);
  return {
    format: "fairpull.page/1",
    file: path.basename(file),
    notebook: stripped(notebook),
    outputs,
    wasRun,
    inputs: all,
    session,
    report: session && result && reportOf(session.text, session.file, result),
    pictures: {},
    versions: {
      fairpull: VERSION,
      ...result?.versions,
      ...(wasRun && {node: process.versions.node, TypeScript: compilerVersion()}),
    },
    publishedAt,
    data: [],
  };
}

/** The session file of a result: the YAML file whose bytes the result names. */
function sessionAmong(
  inputs: PageRecord["inputs"],
  result: ResultDocument,
  folder: string,
): PageRecord["session"] {
  const own = new Set(result.inputs.map(input => input.sha256));
  for (const {file, sha256} of inputs) {
    if (!/\.ya?ml$/i.test(file) || !own.has(sha256)) continue;
    const place = path.resolve(folder, file);
    if (!existsSync(place) || statSync(place).size > MAX_SESSION_BYTES) continue;
    const bytes = readFileSync(place);
    if (createHash("sha256").update(bytes).digest("hex") === sha256)
      return {file, text: bytes.toString("utf8")};
  }
  return null;
}

/**
 * The logs of a session, to be carried in its page: their bytes one after the other, and their names from the session's folder.
 *
 * @throws {InputError} exit code 2: there is no session, a log lies outside its folder or has changed, or they are too large
 */
export function collectData(record: PageRecord, file: string): {data: PageRecord["data"]; bytes: Buffer} {
  const refuse = (words: string, hint: string) =>
    new InputError(2, {code: "data-not-embedded", file, words, hint});
  if (!record.session) {
    throw refuse("there is no session file whose logs could be embedded", "leave --embed-data out");
  }
  const notebookFolder = path.dirname(path.resolve(file));
  const folder = path.dirname(path.resolve(notebookFolder, record.session.file));
  const data: PageRecord["data"] = [];
  const parts: Buffer[] = [];
  let size = 0;
  for (const input of record.inputs) {
    if (input.file === record.session.file) continue;
    const place = path.resolve(notebookFolder, input.file);
    const name = path.relative(folder, place).split(path.sep).join("/");
    if (name.startsWith("../") || path.isAbsolute(name)) {
      throw refuse(`${input.file} lies outside the session's folder`, "move it beside the session file");
    }
    const bytes = readFileSync(place);
    if (createHash("sha256").update(bytes).digest("hex") !== input.sha256) {
      throw refuse(`${input.file} has changed since it was read`, "publish again with --run");
    }
    size += bytes.length;
    if (size > MAX_DATA_BYTES) {
      throw refuse(
        `the logs have more than ${MAX_DATA_BYTES >> 20} MiB`,
        "leave --embed-data out and give the logs beside the page",
      );
    }
    data.push({file: name, size: bytes.length, sha256: input.sha256});
    parts.push(bytes);
  }
  return {data, bytes: Buffer.concat(parts)};
}
