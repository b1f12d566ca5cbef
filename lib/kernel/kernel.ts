import {parseArgs} from "node:util";
import {getHeapStatistics} from "node:v8";
import {Worker} from "node:worker_threads";
import {followTimers} from "./context.ts";
import {readConnection} from "./jupyter/connection.ts";
import type {ThreadData} from "./jupyter/thread.ts";
import type {ToRunner} from "./messages.ts";
import {createRunner} from "./run.ts";

/**
 * Entry of the Jupyter kernel: `node kernel.js [--preload NAME,…] CONNECTION_FILE`, started in the notebook's folder.
 *
 * This thread runs the cells and nothing else, so that an endless loop in one stops nobody; the other thread speaks
 * with the front-end, compiles, and can terminate what runs here. Node must run with `--no-force-async-hooks-checks`:
 * terminating a timer leaves its bookkeeping unbalanced, for which Node would end the process.
 */
const {reallyExit} = process as unknown as {reallyExit(code: number): never};
const {values, positionals} = parseArgs({options: {preload: {type: "string"}}, allowPositionals: true});
const preload = values.preload?.split(",").filter(name => name !== "") ?? [];

function start(file: string): void {
  const folder = process.cwd();
  const workerData: ThreadData = {
    connection: readConnection(file),
    folder,
    preload,
    heapLimitBytes: getHeapStatistics().heap_size_limit,
  };
  const tellError = process.stderr.write.bind(process.stderr); // the runner takes the streams
  const worker = new Worker(new URL("./jupyter/thread.js", import.meta.url), {workerData});
  const runner = createRunner({
    folder,
    follow: followTimers,
    send: message => worker.postMessage(message),
  });
  worker.on("message", (message: ToRunner | {type: "exit"}) => {
    if (message.type === "run") runner.run(message);
    else if (message.type === "stop") runner.stop(message);
    else if (message.type === "exit") reallyExit(0);
  });
  worker.on("error", (error: Error) => {
    tellError(`fairpull kernel: the protocol's thread failed, ${error.stack}\n`, () => reallyExit(1));
  });
  worker.on("exit", code => reallyExit(code));
  process.on("SIGINT", () => {}); // a terminal sends it to everything it started; front-ends send a message
  const loadNext = () => {
    const name = preload.shift();
    if (name === undefined) return;
    runner.preload({type: "preload", cell: 0, packages: [name]});
    setImmediate(loadNext); // a cell that waits comes first
  };
  setImmediate(loadNext);
}

if (positionals.length === 1) {
  try {
    start(positionals[0]!);
  } catch (error) {
    process.stderr.write(`fairpull kernel: ${error instanceof Error ? error.message : error}\n`);
    process.exitCode = 2;
  }
} else {
  process.stderr.write("fairpull kernel: one connection file is needed; a Jupyter front-end names it\n");
  process.exitCode = 2;
}
