import {StringDecoder} from "node:string_decoder";
import {setImmediate as macrotask} from "node:timers/promises";
import vm from "node:vm";
import type {MimeBundle} from "../notebook/notebook.ts";
import {mimeBundle, stored} from "./bundle.ts";
import type {CellContext} from "./context.ts";
import {type CellError, cellError, cellName} from "./error.ts";
import type {DisplayPlace, FromRunner, ToRunner} from "./messages.ts";
import {createCellRequire} from "./require.ts";
import {COMPILER_VERSION, TSLAB_VERSION} from "./tslab.ts";
import {createTurns} from "./turns.ts";

/** Runs compiled cells in this process, one after the other. */
export interface Runner {
  run(request: Extract<ToRunner, {type: "run"}>): void;
  /** Ends the cell with an error if it still runs; its code must have been terminated before. */
  stop(request: Extract<ToRunner, {type: "stop"}>): void;
  /** Loads packages before the cell that imports them is compiled; what fails here fails there again, and is told there. */
  preload(request: Extract<ToRunner, {type: "preload"}>): void;
}

export interface RunnerOptions {
  /** absolute path of the notebook's folder */
  folder: string;
  /** how the cell of running code is known; given what to do with errors that it sees */
  follow(onError: (thrown: unknown) => void): CellContext;
  send(message: FromRunner): void;
}

const WRAPPER_START = "(async function (exports, require) {";
const WRAPPER_END = "\n})";

/** Most that one cell may print [characters]; a notebook with more cannot be opened, and sending it takes minutes. */
const PRINT_LIMIT = 8 * 2 ** 20;
const PRINT_LIMIT_WORDS = "\n[the cell printed more than 8 MiB; the rest is left out]\n";

/**
 * Takes over this process for the cells of one notebook: standard output, `process.exit`, errors that nobody catches
 * and the hooks through which the library shows values and reports the files it reads.
 *
 * Whatever happens is reported with the cell that caused it, also in what outlives the cell, as far as `follow` knows.
 */
export function createRunner({folder, follow, send}: RunnerOptions): Runner {
  const maps = new Map<string, string>();
  let latest = 0;
  let running: {cell: number; end(error: CellError | null, value: MimeBundle | null): void} | null = null;
  const printed = new Map<number, number>();
  const cellNow = () => context.now() ?? latest;

  captureStream("stdout");
  captureStream("stderr");
  process.exit = exitNotAllowed as typeof process.exit;
  const failed = (thrown: unknown) => {
    const cell = cellNow();
    const error = cellError(thrown, maps);
    if (running?.cell === cell) running.end(error, null);
    else send({type: "late-error", cell, error});
  };
  const context = follow(failed);
  const turns = createTurns(failed);
  process.on("uncaughtException", failed);
  process.on("unhandledRejection", failed);
  const hooks = globalThis as Record<symbol, unknown>;
  hooks[Symbol.for("fairpull.display")] = (value: unknown, place?: DisplayPlace) =>
    show(mimeBundle(value), place);
  hooks[Symbol.for("fairpull.clear")] = (wait = false) => clear(Boolean(wait));
  hooks[Symbol.for("fairpull.inputs")] = (file: string, sha256: string) =>
    send({type: "input", cell: cellNow(), file, sha256});

  function captureStream(name: "stdout" | "stderr"): void {
    const decoder = new StringDecoder("utf8");
    process[name].write = ((chunk: string | Uint8Array, encoding?: unknown, callback?: unknown) => {
      const text = typeof chunk === "string" ? chunk : decoder.write(Buffer.from(chunk));
      if (text !== "") print(name, text);
      const done = typeof encoding === "function" ? encoding : callback;
      if (typeof done === "function") process.nextTick(done);
      return true;
    }) as typeof process.stdout.write;
  }

  function print(name: "stdout" | "stderr", text: string): void {
    const cell = cellNow();
    const before = printed.get(cell) ?? 0;
    printed.set(cell, before + text.length);
    if (before > PRINT_LIMIT) return;
    const kept = text.slice(0, PRINT_LIMIT - before);
    if (kept !== "") send({type: "stream", cell, name, text: kept});
    if (kept.length < text.length) send({type: "stream", cell, name: "stderr", text: PRINT_LIMIT_WORDS});
  }

  function show(bundle: MimeBundle | Promise<MimeBundle>, place: DisplayPlace = {}): void {
    const cell = cellNow();
    const sent = (data: MimeBundle) => () => send({type: "display", cell, data, ...place});
    turns.take(bundle instanceof Promise ? bundle.then(sent) : sent(bundle));
  }

  function clear(wait: boolean): void {
    const cell = cellNow();
    turns.take(() => send({type: "clear", cell, wait}));
  }

  const require = createCellRequire(folder, {tslab: tslabStandIn(show)});
  const values = createExports();

  return {
    run({cell, code, lastValue, sideFiles, map}) {
      latest = cell;
      require.addFiles(sideFiles);
      if (map !== null) maps.set(cellName(cell), map);
      const mine = {
        cell,
        end(error: CellError | null, value: MimeBundle | null) {
          if (running !== mine) return; // it was stopped, or failed in a timer
          running = null;
          send({type: "done", cell, error, value});
        },
      };
      running = mine;
      send({type: "started", cell});
      // No code of ours comes after the cell's on this stack: where the cell is terminated, none of it would run.
      context.run(cell, async () => {
        try {
          if (code !== null) await body(code, cell)(values.exports, require);
          await turns.all();
          const last = lastValue === null ? undefined : values.take(lastValue);
          const value = last === undefined || last === null ? null : await mimeBundle(last);
          await macrotask(); // a rejection nobody handles is told before this
          mine.end(null, value);
        } catch (thrown) {
          mine.end(cellError(thrown, maps), null);
        }
      });
    },
    stop({cell, error}) {
      context.stop(cell);
      turns.reset(); // what they wait for may have gone with the code
      if (running?.cell === cell) running.end(error, null);
      send({type: "stopped"});
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

type Show = (bundle: MimeBundle, place?: DisplayPlace) => void;

/** The object that `import * as tslab from "tslab"` gives in a cell: its display functions. */
function tslabStandIn(show: Show) {
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
  const displayAt = (place: () => DisplayPlace) => {
    const raw = (type: string, content: unknown) => show({[type]: stored(type, content)}, place());
    const named = Object.entries(types).map(([name, type]) => [
      name,
      (content: unknown) => raw(type, content),
    ]);
    return {raw, ...Object.fromEntries(named)};
  };
  let displays = 0;
  return {
    display: displayAt(() => ({})),
    /** The first call makes a display, every later one replaces what it shows. */
    newDisplay() {
      const id = `tslab-${++displays}`;
      let shown = false;
      return displayAt(() => {
        const update = shown;
        shown = true;
        return {id, update};
      });
    },
    versions: {tslab: TSLAB_VERSION, typescript: COMPILER_VERSION, node: process.version},
  };
}
