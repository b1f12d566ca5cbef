import {copyFileSync, existsSync, mkdirSync, symlinkSync, writeFileSync} from "node:fs";
import {createRequire} from "node:module";
import path from "node:path";
import {notebookAbout} from "../notebook/about.ts";
import {codeCells, type Notebook} from "../notebook/notebook.ts";
import {notebookText} from "../notebook/write.ts";
import {InputError} from "../result/error.ts";
import type {VerifyDifference} from "../result/verify-document.ts";
import {templateAt, templateNamed} from "../templates/store.ts";
import {compareValues} from "./compare.ts";
import {type PageRecord, shownOf} from "./record.ts";
import {runChecked} from "./run.ts";
import {fileProblem, nameProblem} from "./safe-file.ts";

/** What running a page's notebook again gave. */
export interface Rerun {
  differences: VerifyDifference[];
  /** ids of cells that are not those of the released template; null where the template is not known here */
  changedCells: string[] | null;
  notes: string[];
}

/**
 * Runs the notebook that a page carries in a folder of its own, with copies of session and logs where the notebook looks for
 * them, and compares every output with that of the page. The child has the rights of its user: this is no sandbox.
 *
 * @param data   folder of the logs, already checked
 * @param folder a folder to be made; whoever calls takes it away
 * @throws {InputError} exit code 1: a cell failed, or a file lies where it cannot be copied
 */
export async function rerunNotebook(
  record: PageRecord,
  data: string,
  folder: string,
  cellTimeLimitS?: number,
): Promise<Rerun> {
  const {notebook, inputs, session} = record;
  const depth = Math.max(0, ...inputs.map(({file}) => file.split("/").filter(part => part === "..").length));
  const home = path.join(folder, ...Array.from({length: depth}, (_, i) => `level-${i + 1}`));
  mkdirSync(home, {recursive: true});
  linkPackages(folder);
  const sessionFolder = path.posix.dirname(session!.file);
  for (const {file} of inputs) {
    const place = path.resolve(home, file);
    const isInside =
      place.startsWith(folder + path.sep) && nameProblem(path.relative(folder, place)) === null;
    if (!isInside || path.isAbsolute(file))
      throw refused(record.file, file, "lies outside the folder of the run");
    mkdirSync(path.dirname(place), {recursive: true});
    if (file === session!.file) {
      writeFileSync(place, session!.text);
      continue;
    }
    const name = path.posix.relative(sessionFolder, file);
    const problem = fileProblem(data, name);
    if (problem === "missing" || nameProblem(name) !== null) continue; // the cell that reads it says so
    if (problem !== null) throw refused(record.file, name, problem);
    copyFileSync(path.join(data, name), place);
  }
  const file = path.join(home, path.basename(record.file));
  writeFileSync(file, notebookText(notebook));
  const run = await runChecked(notebook, file, {cellTimeLimitS});
  const differences = run.cells.flatMap(({cell, outputs}, index) => {
    const now = outputs.map(shownOf).map(output => ("data" in output ? output.data : output));
    const page = record.outputs[index]?.map(output => ("data" in output ? output.data : output)) ?? [];
    return compareValues(`cell ${index + 1} (${cell.id}): `, withoutVersions(page), withoutVersions(now));
  });
  return {
    differences,
    changedCells: changedCells(notebook, record.file),
    notes: [
      "the page's own cells were run with your rights, in a temporary folder that is gone now; this is no sandbox",
    ],
  };
}

/** The packages of this installation, where the compiler looks for them from the temporary folder. */
function linkPackages(folder: string): void {
  const folders = createRequire(import.meta.url).resolve.paths("fairpull") ?? [];
  const packages = folders.find(place => existsSync(path.join(place, "fairpull")));
  if (packages === undefined) return;
  symlinkSync(packages, path.join(folder, "node_modules"), "junction");
}

/** Versions are told apart from numbers: another one is no difference. */
function withoutVersions(outputs: readonly unknown[]): unknown {
  return JSON.parse(
    JSON.stringify(outputs, (key, value) =>
      key === "versions" || key === "text/html" || key === "text/plain" ? undefined : value,
    ),
  );
}

/** Ids of the code cells whose source is in no cell of the same id of the released template. */
export function changedCells(notebook: Notebook, file: string): string[] | null {
  const {template} = notebookAbout(notebook, file);
  if (!template) return null;
  try {
    const released = templateAt(templateNamed(template.template), template.version);
    const sources = new Map(released.cells.map(cell => [cell.id, cell.source]));
    return codeCells(notebook)
      .filter(cell => sources.get(cell.id) !== cell.source)
      .map(cell => cell.id);
  } catch (error) {
    if (error instanceof InputError) return null;
    throw error;
  }
}

function refused(notebook: string, file: string, why: string): InputError {
  return new InputError(1, {
    code: "name-refused",
    file: notebook,
    words: `the page names the file "${file}", which ${why}`,
    hint: "do not trust this page",
  });
}
