import {writeSync} from "node:fs";
import {parentPort, workerData} from "node:worker_threads";
import {startPainter} from "../../draw/start-painter.ts";
import {type Compiler, createCompiler} from "../compile.ts";
import {holdMainThread} from "./cells.ts";
import type {Connection} from "./connection.ts";
import {withPicture} from "./figure-html.ts";
import {createProtocol, type Protocol} from "./protocol.ts";
import {openSockets} from "./sockets.ts";

/** What the main thread gives along. */
export interface ThreadData {
  connection: Connection;
  /** folder of the notebook */
  folder: string;
  /** packages whose declarations are read before the first cell asks for them */
  preload: string[];
  /** heap of the main thread [bytes] */
  heapLimitBytes: number;
}

/** Time for the last replies to leave [ms]. */
const LAST_WORDS_MS = 30;
/** A front-end that has not asked for anything by then [ms] need not be answered before the compiler is loaded. */
const WARM_UP_MS = 400;
/** When a thread for pictures is started, if no figure came before [ms]. */
const PAINTER_MS = 3000;
/** How often is looked whether the front-end that started the kernel still lives [ms]. */
const PARENT_LOOK_MS = 1000;

const port = parentPort!;
const {connection, folder, preload, heapLimitBytes} = workerData as ThreadData;
const painter = startPainter();
const log = (words: string) => void writeSync(2, `fairpull kernel: ${words}\n`); // console.* would go to a cell

let loaded: Compiler | null = null;
const compiler = () => {
  loaded ??= createCompiler({folder, watch: true});
  return loaded;
};
let protocol: Protocol | null = null;
const cells = holdMainThread(port, heapLimitBytes, message => protocol?.onCell(message));

/** Loads what the first cells will want, step by step, so that requests are answered in between. */
let isWarm = false;
function warmUp(): void {
  if (isWarm) return;
  isWarm = true;
  const steps = [
    compiler,
    ...preload.map(name => () => compiler().compile("", `import * as it from "${name}";\n1`)),
    () => setTimeout(painter.warm, PAINTER_MS), // after the first cell, which wants the processor more
  ];
  const next = () => {
    const step = steps.shift();
    if (step === undefined) return;
    step();
    setImmediate(next);
  };
  setImmediate(next);
}

function shutdown(): void {
  setTimeout(() => {
    sockets.then(({close}) => close()).finally(() => setImmediate(cells.end));
  }, LAST_WORDS_MS);
}

const sockets = openSockets(connection, (channel, frames) => {
  protocol?.receive(channel, frames);
  setImmediate(warmUp);
});
sockets.then(
  ({send}) => {
    protocol = createProtocol({
      key: connection.key,
      compiler: {
        compile: (...cell) => compiler().compile(...cell),
        complete: (...place) => compiler().complete(...place),
        inspect: (...place) => compiler().inspect(...place),
        close: () => loaded?.close(),
      },
      cells,
      send,
      withPicture: bundle => withPicture(painter, bundle),
      log,
      shutdown,
    });
    setTimeout(warmUp, WARM_UP_MS);
  },
  error => {
    log(`the sockets cannot be bound, ${error instanceof Error ? error.message : error}`);
    cells.end();
  },
);

if (process.env["JPY_PARENT_PID"]) {
  const parent = process.ppid;
  setInterval(() => {
    if (process.ppid !== parent) shutdown();
  }, PARENT_LOOK_MS);
}
