import path from "node:path";
import type {Command} from "commander";
import {notebookAbout} from "../notebook/about.ts";
import {readNotebook} from "../notebook/read.ts";
import {runChecked, verdictLine} from "../publish/run.ts";
import {InputError} from "../result/error.ts";
import type {RunDocument} from "../result/notebook-documents.ts";
import type {CommandIO} from "./io.ts";
import {tellAnswer} from "./output.ts";
import {progressBar} from "./progress.ts";

export interface RunOptions {
  /** longest time one cell may take [s]; default 300 */
  cellTimeLimitS?: number;
  onCell?: (done: number, total: number) => void;
}

/** Runs a notebook from top to bottom; a mistake of the user is in the document's `error`, with its exit code beside. */
export async function runNotebook(
  file: string,
  options: RunOptions = {},
): Promise<{document: RunDocument; exitCode: 0 | 1 | 2}> {
  const document: RunDocument = {
    format: "fairpull.run/1",
    notebook: file,
    title: null,
    cells: 0,
    verdict: null,
    result: null,
    inputs: [],
  };
  try {
    const notebook = await readNotebook(file);
    document.title = notebookAbout(notebook, file).title;
    const run = await runChecked(notebook, file, options);
    document.cells = run.cells.length;
    document.verdict = run.result && verdictLine(run.result);
    document.result = run.result;
    document.inputs = run.inputs;
    return {document, exitCode: 0};
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return {document: {...document, error: error.details}, exitCode: error.exitCode};
  }
}

/** `fairpull run NOTEBOOK`: its verdict. */
export function registerRun(program: Command, io: CommandIO): void {
  program
    .command("run")
    .description("execute a notebook from top to bottom in a fresh process and print its verdict")
    .argument("<notebook>", "an .ipynb file")
    .option("--cell-time-limit <seconds>", "longest time one cell may take", secondsOption)
    .option("--json", "print one JSON document")
    .action(async (file: string, options: {json?: boolean; cellTimeLimit?: number}) => {
      const bar = progressBar(io.stderr);
      const answer = await runNotebook(fromFolder(io, file), {
        cellTimeLimitS: options.cellTimeLimit,
        onCell: (done, total) => bar.show(done / total, `cell ${done} of ${total}`),
      });
      bar.clear();
      tellAnswer(
        io,
        answer,
        options,
        ({verdict, cells}) => `${verdict ?? `${cells} cells ran, without a verdict`}
`,
      );
    });
}

/** A path as typed, made absolute only where the command's folder is not that of the process. */
export function fromFolder(io: CommandIO, file: string): string {
  return io.cwd === process.cwd() ? file : path.resolve(io.cwd, file);
}

/** A number of seconds given as an option. */
export function secondsOption(text: string): number {
  const value = Number(text);
  if (text.trim() !== "" && Number.isFinite(value) && value > 0) return value;
  throw new InputError(2, {
    code: "option",
    words: `--cell-time-limit is "${text}", but a number of seconds above 0 is needed`,
    hint: "for example --cell-time-limit 600",
  });
}
