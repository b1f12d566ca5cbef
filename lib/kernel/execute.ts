import path from "node:path";
import {type Cell, codeCells, hasTag, type Notebook, type Output} from "../notebook/notebook.ts";
import {type Child, startChild} from "./child-process.ts";
import {type Compiler, createCompiler} from "./compile.ts";
import type {CellError} from "./error.ts";
import type {FromRunner} from "./messages.ts";

export interface ExecuteOptions {
  /** absolute path of the notebook's folder: working directory, and where imports are looked up first */
  folder: string;
  /** longest time one cell may take [s]; default 300 */
  cellTimeLimitS?: number;
  /** heap of the process that runs the cells [MiB]; default 2048 */
  memoryMib?: number;
  /** called after every cell, for a progress bar */
  onCell?: (done: number, total: number) => void;
  /** called with every output as soon as it is there */
  onOutput?: (cell: Cell, output: Output) => void;
}

/** One code cell after its run. */
export interface CellRun {
  cell: Cell;
  /** execution count, from 1 */
  number: number;
  outputs: Output[];
  error: CellError | null;
}

export interface NotebookRun {
  /** the code cells that ran, in order; the last one is the failed one where there is one */
  cells: CellRun[];
  /** the cell that failed without being tagged `expected-error`, or was tagged and did not fail; else null */
  failed: CellRun | null;
  /** files the library read, relative to the folder with "/", in the order of reading, each once */
  inputs: {file: string; sha256: string}[];
  /** true if work started by a cell was still going on when the run was ended */
  unfinished: boolean;
}

const CELL_TIME_LIMIT_S = 300;
const MEMORY_MIB = 2048;
/** How long timers and promises that nobody awaited may go on after the last cell. */
const GRACE_S = 2;

/**
 * Runs a notebook from top to bottom in a fresh process and collects its outputs. The first cell that fails ends it.
 *
 * Cells are compiled here while the process runs the cell before; packages that the first importing cell names are
 * loaded there while the compiler starts. A cell tagged `expected-error` must fail, and what it declares is not
 * there afterwards.
 */
export async function executeNotebook(notebook: Notebook, options: ExecuteOptions): Promise<NotebookRun> {
  const {folder, cellTimeLimitS = CELL_TIME_LIMIT_S, memoryMib = MEMORY_MIB} = options;
  const cells = codeCells(notebook);
  const runs: CellRun[] = cells.map((cell, index) => ({cell, number: index + 1, outputs: [], error: null}));
  const inputs = new Map<string, string>();
  const displays = new Map<string, Display[]>();
  let late: CellRun | null = null;
  const child = startChild({
    folder,
    memoryMib,
    onMessage(message) {
      const run = runs[message.cell - 1];
      if (message.type === "input") inputs.set(relative(folder, message.file), message.sha256);
      else if (!run) return;
      else if (message.type === "clear") clearOutputs(run, message.wait);
      else if (message.type === "display") addDisplay(run, message, displays, options);
      else if (message.type === "late-error") {
        run.error ??= message.error;
        addOutput(run, {output_type: "error", ...message.error}, options);
        late ??= run;
      } else if (message.type === "stream") {
        addOutput(run, {output_type: "stream", name: message.name, text: message.text}, options);
      }
    },
  });
  let compiler: Compiler | null = null;
  try {
    preloadFirstImports(cells, child);
    compiler = createCompiler({folder});
    const done: CellRun[] = [];
    let declarations = "";
    let next = cells.length ? compiler.compile(declarations, cells[0]!.source) : null;
    for (const [index, run] of runs.entries()) {
      done.push(run);
      const compiled = next!;
      let survived = true;
      const expected = hasTag(run.cell, "expected-error");
      if ("ename" in compiled) run.error = compiled;
      else {
        const running = child.run(run.number, compiled, cellTimeLimitS);
        if (!expected) ({declarations} = compiled);
        next = compileNext(compiler, declarations, cells[index + 1]);
        const end = await running;
        survived = end.survived;
        run.error ??= end.error;
        if (end.value) addOutput(run, result(run.number, end.value), options);
      }
      if ("ename" in compiled) next = compileNext(compiler, declarations, cells[index + 1]);
      if (run.error && late !== run) addOutput(run, {output_type: "error", ...run.error}, options);
      options.onCell?.(index + 1, runs.length);
      if (late && !hasTag((late as CellRun).cell, "expected-error")) return ended(done, late, false);
      if (run.error ? !expected || !survived : expected) {
        run.error ??= missedError();
        return ended(done, run, false);
      }
    }
    const complete = await child.finish(GRACE_S);
    return ended(done, late, !complete);
  } finally {
    child.kill();
    compiler?.close();
  }

  function ended(done: CellRun[], failed: CellRun | null, unfinished: boolean): NotebookRun {
    return {cells: done, failed, inputs: [...inputs].map(([file, sha256]) => ({file, sha256})), unfinished};
  }
}

function compileNext(compiler: Compiler, declarations: string, cell: Cell | undefined) {
  return cell === undefined ? null : compiler.compile(declarations, cell.source);
}

function missedError(): CellError {
  const words = "the cell is tagged expected-error, but it ran without an error";
  return {ename: "NoError", evalue: words, traceback: [`NoError: ${words}`]};
}

function result(count: number, data: Record<string, unknown>): Output {
  return {output_type: "execute_result", data, metadata: {}, execution_count: count};
}

type Display = Extract<Output, {output_type: "display_data"}>;

/** Adds a display, or replaces what is shown under its id. */
function addDisplay(
  run: CellRun,
  {data, id, update}: Extract<FromRunner, {type: "display"}>,
  displays: Map<string, Display[]>,
  options: ExecuteOptions,
): void {
  const same = id === undefined ? [] : (displays.get(id) ?? []);
  if (update) {
    for (const output of same) output.data = data;
    return;
  }
  const output: Display = {output_type: "display_data", data, metadata: {}};
  if (id !== undefined) displays.set(id, [...same, output]);
  addOutput(run, output, options);
}

/** Cells whose outputs go when the next one comes. */
const clearedLater = new WeakSet<CellRun>();

function clearOutputs(run: CellRun, wait: boolean): void {
  if (wait) clearedLater.add(run);
  else run.outputs.length = 0;
}

/** Adds an output; text on the same stream is joined, so that chunks of a pipe do not show. */
function addOutput(run: CellRun, output: Output, options: ExecuteOptions): void {
  if (clearedLater.delete(run)) run.outputs.length = 0;
  const last = run.outputs.at(-1);
  if (output.output_type === "stream" && last?.output_type === "stream" && last.name === output.name) {
    last.text += output.text;
  } else {
    run.outputs.push(output);
    options.onOutput?.(run.cell, output);
  }
}

/**
 * Imports come before every other statement of their cell, so the packages of the first cell that imports any can be
 * loaded at once; those of later cells might depend on what runs before.
 */
function preloadFirstImports(cells: readonly Cell[], child: Child): void {
  for (const [index, {source}] of cells.entries()) {
    const imports = [...source.matchAll(/^\s*import\b(?!\s+type\b)[^"'`;]*["']([^"'\n]+)["']/gm)].map(
      match => match[1]!,
    );
    const packages = imports.filter(name => !/^[./]|:/.test(name));
    if (packages.length) child.preload(index + 1, packages);
    if (imports.length) return;
  }
}

function relative(folder: string, file: string): string {
  return path.relative(folder, path.resolve(folder, file)).split(path.sep).join("/");
}
