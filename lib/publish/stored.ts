import {createHash} from "node:crypto";
import {existsSync, readFileSync} from "node:fs";
import path from "node:path";
import {type Cell, codeCells, hasTag, type Notebook} from "../notebook/notebook.ts";
import {isOwnOutput} from "../notebook/source-mark.ts";
import {InputError} from "../result/error.ts";
import {type Given, requireResult, resultOf} from "./collect.ts";
import {shownOf} from "./record.ts";

/** True if a notebook carries outputs of an earlier run. */
export function hasOutputs(notebook: Notebook): boolean {
  return codeCells(notebook).some(cell => (cell.outputs ?? []).length > 0);
}

/** Text and pictures beyond this in one notebook are no write-up [characters]. */
const MAX_OUTPUT_CHARACTERS = 64 << 20;

/**
 * The outputs that a notebook carries, as they are: nothing is run.
 *
 * What can be seen to be out of date is refused: a cell that was not run though others were, cells run in another order
 * than they stand, an output that says another source gave it, a file that has changed since. A change of a source that a
 * front-end did not note anywhere cannot be seen; the page says that nothing was run for it.
 *
 * @param file path of the notebook
 * @throws {InputError} exit code 1: a cell failed, or the outputs are out of date or too large
 */
export function storedOutputs(notebook: Notebook, file: string): Given {
  const cells = codeCells(notebook);
  const refuse = (
    code: string,
    place: number | null,
    words: string,
    hint = "publish with --run to run it afresh",
  ) => {
    const cell = place === null ? "" : `cell ${place + 1} ("${cells[place]!.id}") `;
    return new InputError(1, {code, file, words: `${cell}${words}`, hint});
  };
  let last = 0;
  let characters = 0;
  for (const [place, cell] of cells.entries()) {
    const count = cell.execution_count ?? null;
    if (isEmpty(cell)) continue;
    if (count === null) throw refuse("outputs-stale", place, "was not run, and others were");
    if (count <= last) {
      throw refuse("outputs-stale", place, `was run as number ${count}, before the one above it (${last})`);
    }
    last = count;
    for (const output of cell.outputs ?? []) {
      if (isOwnOutput(cell, output) === false) {
        throw refuse("outputs-stale", place, "was changed after it was run");
      }
      if (output.output_type === "error" && !hasTag(cell, "expected-error")) {
        throw refuse(
          "cell-failed",
          place,
          `failed, so there is no result\n  ${output.ename}: ${output.evalue}\n`,
          "mend the cell and publish with --run, or tag it expected-error if it is meant to fail",
        );
      }
      characters += JSON.stringify(output).length;
      if (characters > MAX_OUTPUT_CHARACTERS) {
        throw refuse(
          "outputs-too-large",
          place,
          "and those before it hold more than 64 MB of output",
          "print less",
        );
      }
    }
  }
  const outputs = cells.map(cell => (cell.outputs ?? []).map(shownOf));
  requireResult(outputs, file);
  return {
    outputs,
    inputs: storedInputs(outputs, file, words => refuse("outputs-stale", null, words)),
    wasRun: false,
  };
}

function isEmpty(cell: Cell): boolean {
  return cell.source.replace(/\/\/.*|\/\*[\s\S]*?\*\//g, "").trim() === "";
}

/** The files that the result rests on, named from the notebook's folder; those that are there must be the same. */
function storedInputs(
  outputs: Given["outputs"],
  file: string,
  refuse: (words: string) => InputError,
): Given["inputs"] {
  const inputs = resultOf(outputs)?.result.inputs ?? [];
  const session = inputs.find(input => /\.ya?ml$/i.test(input.file));
  const folder = session ? path.posix.dirname(session.file) : ".";
  return inputs.map(input => {
    const named = input === session ? input.file : path.posix.join(folder, input.file);
    const place = path.resolve(path.dirname(path.resolve(file)), named);
    if (existsSync(place)) {
      const sha256 = createHash("sha256").update(readFileSync(place)).digest("hex");
      if (sha256 !== input.sha256) throw refuse(`${named} has changed since the notebook was run`);
    }
    return {file: named, sha256: input.sha256};
  });
}
