import path from "node:path";
import {type CellRun, type ExecuteOptions, executeNotebook, type NotebookRun} from "../kernel/execute.ts";
import {notebookAbout} from "../notebook/about.ts";
import type {Notebook, Output} from "../notebook/notebook.ts";
import {isInRange} from "../notebook/version-range.ts";
import {InputError} from "../result/error.ts";
import type {ResultDocument} from "../result/result-document.ts";
import {VERSION} from "../result/version.ts";
import {headline} from "./answer-card.ts";
import {resultIn} from "./card.ts";

/** A notebook that ran from top to bottom without an error that it does not announce. */
export interface CheckedRun extends NotebookRun {
  /** the last output with a result, or null */
  verdict: Output | null;
  result: ResultDocument | null;
}

/**
 * Runs a notebook in a fresh process, in its own folder.
 *
 * @param file path of the notebook
 * @throws {InputError} exit code 2: the notebook needs another version of the library; 1: a cell failed, or work went on
 *   after the last one; the message shows the cell
 */
export async function runChecked(
  notebook: Notebook,
  file: string,
  options: Omit<ExecuteOptions, "folder"> = {},
): Promise<CheckedRun> {
  requireVersion(notebook, file);
  const run = await executeNotebook(notebook, {...options, folder: path.dirname(path.resolve(file))});
  if (run.failed) throw cellFailed(file, run.failed);
  if (run.unfinished) {
    throw new InputError(1, {
      code: "cell-unfinished",
      file,
      words: "work that a cell started was still going on after the last cell",
      hint: "await it in its cell, or clear its timer",
    });
  }
  const outputs = run.cells.flatMap(cell => cell.outputs);
  const verdict = outputs.findLast(output => resultIn(output) !== null) ?? null;
  const result = verdict && resultIn(verdict);
  return {...run, verdict, result};
}

/**
 * Checks that this library is one that the notebook was made for.
 *
 * @throws {InputError} exit code 2: it needs another version, or says what it needs in a way that is no version range
 */
export function requireVersion(notebook: Notebook, file: string): void {
  const needed = notebookAbout(notebook, file).template?.requires;
  if (needed === undefined) return;
  const isMet = isInRange(VERSION, needed);
  if (isMet) return;
  throw new InputError(2, {
    code: isMet === null ? "notebook-metadata" : "notebook-requires",
    file,
    words:
      isMet === null
        ? `metadata.fairpull.requires is "${needed}", which is no range of versions`
        : `the notebook needs fairpull ${needed}, and this is ${VERSION}`,
    hint:
      isMet === null
        ? 'write for example "^0.1.0"'
        : "install that version, or carry the notebook to this one",
  });
}

/** The verdict of a run in one line: "Shown better: −0.142 s (−2.7 %), −0.2 to −0.1 s, 95 %". */
export function verdictLine(result: ResultDocument): string {
  const {state, numbers} = headline(result);
  return numbers === null ? state : `${state}: ${numbers}`;
}

function cellFailed(file: string, {cell, number, error}: CellRun): InputError {
  const source = cell.source.split("\n").map((line, index) => `  ${String(index + 1).padStart(3)} | ${line}`);
  const trace = error!.traceback.map(line => `  ${line}`);
  return new InputError(1, {
    code: "cell-failed",
    file,
    words: `cell ${number} ("${cell.id}") failed, so there is no result\n${trace.join("\n")}\n\n${source.join("\n")}\n`,
    hint: "mend the cell, or tag it expected-error if it is meant to fail",
  });
}
