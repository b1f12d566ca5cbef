import {AsyncLocalStorage} from "node:async_hooks";
import {StringDecoder} from "node:string_decoder";
import {setImmediate as macrotask} from "node:timers/promises";
import vm from "node:vm";
import {mimeBundle, stored} from "./bundle.ts";
import {type CellError, cellError, cellName} from "./error.ts";
import type {FromRunner, ToRunner} from "./messages.ts";
import {createCellRequire} from "./require.ts";

/** Runs compiled cells in this process, one after the other. */
export interface Runner {
  run(request: Extract<ToRunner, {type: "run"}>): Promise<void>;
  /** Loads packages before the cell that imports them is compiled; what fails here fails there again, and is told there. */
  preload(request: Extract<ToRunner, {type: "preload"}>): void;
}

const WRAPPER_START = "(async function (exports, require) {";
const WRAPPER_END = "\n})";

/**
 * Takes over this process for the cells of one notebook: standard output, `process.exit`, errors that nobody catches
 * and the hooks through which the library shows values and reports the files it reads.
 *
 * Whatever happens is reported with the cell that caused it, also in timers and promises that outlive the cell: the
 * cell's number travels with the asynchronous context.
 *
 * @param folder absolute path of the notebook's folder
 */
export function createRunner(folder: string, send: (message: FromRunner) => void): Runner {
  const context = new AsyncLocalStorage<number>();
  const maps = new Map<string, string>();
  let latest = 0;
  let running: {cell: number; fail(error: CellError): void} | null = null;
  const pending: Promise<void>[] = [];
  const cellNow = () => context.getStore() ?? latest;

  captureStream("stdout");
  captureStream("stderr");
  process.exit = exitNotAllowed as typeof process.exit;
  const failed = (thrown: unknown) => {
    const cell = cellNow();
    const error = cellError(thrown, maps);
    if (running?.cell === cell) running.fail(error);
    else send({type: "late-error", cell, error});
  };
  process.on("uncaughtException", failed);
  process.on("unhandledRejection", failed);
  const hooks = globalThis as Record<symbol, unknown>;
  hooks[Symbol.for("fairpull.display")] = (value: unknown) => show(mimeBundle(value));
  hooks[Symbol.for("fairpull.inputs")] = (file: string, sha256: string) =>
    send({type: "input", cell: cellNow(), file, sha256});

  function captureStream(name: "stdout" | "stderr"): void {
    const decoder = new StringDecoder("utf8");
    process[name].write = ((chunk: string | Uint8Array, encoding?: unknown, callback?: unknown) => {
      const text = typeof chunk === "string" ? chunk : decoder.write(Buffer.from(chunk));
      if (text !== "") send({type: "stream", cell: cellNow(), name, text});
      const done = typeof encoding === "function" ? encoding : callback;
      if (typeof done === "function") process.nextTick(done);
      return true;
    }) as typeof process.stdout.write;
  }

  /** Sends a display in its turn: after those that were asked for before. */
  function show(bundle: Promise<Record<string, unknown>>): void {
    const cell = cellNow();
    const before = pending.at(-1);
    pending.push(
      bundle.then(async data => {
        await before;
        send({type: "display", cell, data});
      }, failed),
    );
  }

  const require = createCellRequire(folder, {tslab: tslabStandIn(show)});
  const values = createExports();

  return {
    async run({cell, code, lastValue, sideFiles, map}) {
      latest = cell;
      require.addFiles(sideFiles);
      if (map !== null) maps.set(cellName(cell), map);
      let value: Record<string, unknown> | null = null;
      const error = await new Promise<CellError | null>(resolve => {
        running = {cell, fail: resolve};
        if (code === null) return resolve(null);
        context.run(cell, async () => {
          try {
            await body(code, cell)(values.exports, require);
            await Promise.all(pending.splice(0));
            const last = lastValue === null ? undefined : values.take(lastValue);
            if (last !== undefined && last !== null) value = await mimeBundle(last);
            await macrotask(); // a rejection nobody handles is told before this
            resolve(null);
          } catch (thrown) {
            resolve(cellError(thrown, maps));
          }
        });
      });
      running = null;
      send({type: "done", cell, error, value: error ? null : value});
    },
    preload({cell, packages}) {
      latest = cell;
      for (const name of packages) {
        try {
          context.run(cell, () => require(name));
        } catch {
          // the import in the cell fails the same way and says so
        }
      }
    },
  };
}

function exitNotAllowed(code?: number): never {
  const error = new Error(`process.exit(${code ?? ""}) was called; a cell must not end the run`);
  error.name = "ExitNotAllowed";
  Error.captureStackTrace(error, exitNotAllowed);
  throw error;
}

type CellBody = (exports: unknown, require: unknown) => Promise<void>;

function body(code: string, cell: number): CellBody {
  const script = new vm.Script(WRAPPER_START + code + WRAPPER_END, {
    filename: cellName(cell),
    columnOffset: -WRAPPER_START.length,
    importModuleDynamically: vm.constants.USE_MAIN_CONTEXT_DEFAULT_LOADER,
  });
  return script.runInThisContext();
}

/**
 * The variables of the notebook. TypeScript defines imported names with getters that cannot be changed; here they
 * become plain values, so that a later cell may declare the name anew.
 */
function createExports(): {exports: object; take(name: string): unknown} {
  const values: Record<PropertyKey, unknown> = {};
  const exports = new Proxy(values, {
    defineProperty(_target, name, {get, value}) {
      if (name !== "__esModule") values[name] = get ? get() : value;
      return true;
    },
  });
  return {
    exports,
    take(name) {
      const value = values[name];
      delete values[name];
      return value;
    },
  };
}

/** The object that `import * as tslab from "tslab"` gives in a cell: its display functions. */
function tslabStandIn(show: (bundle: Promise<Record<string, unknown>>) => void) {
  const types = {
    html: "text/html",
    markdown: "text/markdown",
    latex: "text/latex",
    svg: "image/svg+xml",
    png: "image/png",
    jpeg: "image/jpeg",
    gif: "image/gif",
    pdf: "application/pdf",
    javascript: "text/javascript",
    text: "text/plain",
  };
  const raw = (type: string, content: unknown) => show(Promise.resolve({[type]: stored(type, content)}));
  const display = {
    raw,
    ...Object.fromEntries(
      Object.entries(types).map(([name, type]) => [name, (content: unknown) => raw(type, content)]),
    ),
  };
  return {display, newDisplay: () => display, versions: {node: process.version}};
}
