import {Session} from "node:inspector";
import type {MessagePort} from "node:worker_threads";
import type {CompiledCell} from "../compile.ts";
import type {CellError} from "../error.ts";
import type {FromRunner, ToRunner} from "../messages.ts";

/** How a cell ended. */
export type CellEnd = Pick<Extract<FromRunner, {type: "done"}>, "error" | "value">;

/** What a cell does while it runs, and what earlier ones still do. */
export type CellMessage = Exclude<FromRunner, {type: "started" | "done" | "stopped" | "finished" | "input"}>;

/** The main thread, where the cells run, as seen from the protocol's thread. */
export interface Cells {
  run(cell: number, compiled: CompiledCell): Promise<CellEnd>;
  /** Stops whatever runs, an endless loop too; a running cell ends as interrupted, and all variables stay. */
  interrupt(): void;
  /**
   * Ends the process, whatever runs; does not return. Sockets must be closed: ZeroMQ aborts a process that ends while
   * this thread is inside a call to it.
   */
  end(): never;
}

/**
 * Steps of a stop [ms]. What the main thread does when a termination comes is often a call into Node and not the code of
 * the cell, so it is terminated several times before it is told that the cell is over.
 */
const STEP_MS = 5;
const STEPS_TO_TELL = 6;
/** A main thread that has not answered after so many steps gets the whole again. */
const STEPS_TO_REPEAT = 20;

/** A main thread that is asked to end the process and does not is ended from here [ms]. */
const END_MS = 300;

/** How often the heap is looked at while a cell runs [ms]; a fast loop fills some 50 MiB in that time. */
const HEAP_LOOK_MS = 50;

/**
 * A cell is stopped when this share of the heap is used, or all but `HEAP_LEFT_BYTES` of it: V8 ends the whole process when the old
 * generation is full, and counts the young one into the limit as well (192 MiB from Node 24 on).
 */
const HEAP_SHARE = 0.85;
const HEAP_LEFT_BYTES = 256 * 2 ** 20;

/** Takes hold of the main thread: messages through `port`, termination through its inspector. */
export function holdMainThread(
  port: MessagePort,
  heapLimitBytes: number,
  onMessage: (message: CellMessage) => void,
): Cells {
  const session = new Session();
  session.connectToMainThread();
  let running: {cell: number; hasStarted: boolean; end(end: CellEnd): void} | null = null;
  let retry: NodeJS.Timeout | null = null;

  port.on("message", (message: FromRunner) => {
    if (message.type === "done") {
      if (running?.cell === message.cell) running.end(message);
    } else if (message.type === "started") {
      if (running?.cell === message.cell) begun(running);
    } else if (message.type === "stopped") {
      if (retry) clearInterval(retry);
      retry = null;
    } else if (message.type !== "finished" && message.type !== "input") onMessage(message);
  });

  const send = (message: ToRunner) => port.postMessage(message);

  const terminate = () => session.post("Runtime.terminateExecution");

  function stop(error: CellError): void {
    if (retry) return; // being stopped already
    terminate();
    let step = 0;
    retry = setInterval(() => {
      step = (step + 1) % STEPS_TO_REPEAT;
      if (step < STEPS_TO_TELL) terminate();
      else if (step % STEPS_TO_TELL === 0 && (running === null || running.hasStarted))
        send({type: "stop", cell: running?.cell ?? 0, error});
    }, STEP_MS);
  }

  /** Where a cell begins only after a stop, the stopped code was not its own. */
  function begun(cell: NonNullable<typeof running>): void {
    cell.hasStarted = true;
    if (retry === null) return;
    clearInterval(retry);
    retry = null;
    onMessage({type: "stream", cell: cell.cell, name: "stderr", text: BLAME});
  }

  const stopAtBytes = Math.max(
    heapLimitBytes / 2,
    Math.min(HEAP_SHARE * heapLimitBytes, heapLimitBytes - HEAP_LEFT_BYTES),
  );
  function lookAtHeap(): void {
    if (process.memoryUsage.rss() < heapLimitBytes / 2) return;
    session.post("Runtime.getHeapUsage", (error: Error | null, usage?: {usedSize: number}) => {
      if (!error && usage && usage.usedSize > stopAtBytes) stop(outOfMemory(heapLimitBytes));
    });
  }

  return {
    run(cell, {declarations: _declarations, ...compiled}) {
      return new Promise(resolve => {
        const watch = setInterval(lookAtHeap, HEAP_LOOK_MS);
        running = {
          cell,
          hasStarted: false,
          end(end) {
            clearInterval(watch);
            running = null;
            resolve(end);
          },
        };
        send({type: "run", cell, ...compiled});
      });
    },
    interrupt: () => stop(INTERRUPTED),
    end() {
      if (retry) clearInterval(retry);
      session.disconnect(); // the process would wait for it
      port.postMessage({type: "exit"});
      Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, END_MS); // in no call that could be cut short
      process.kill(process.pid, "SIGKILL");
      throw new Error("the process outlived its end");
    },
  };
}

const STOPPED = "the cell was stopped; what earlier cells made is still there";
const INTERRUPTED: CellError = {
  ename: "Interrupted",
  evalue: STOPPED,
  traceback: [`Interrupted: ${STOPPED}`],
};
const BLAME = "A timer of an earlier cell ran without end and kept this cell waiting; it was stopped.\n";

function outOfMemory(limitBytes: number): CellError {
  const limitMib = Math.round(limitBytes / 2 ** 20);
  const evalue = `the cell was stopped before it ran out of memory (limit ${limitMib} MiB); what earlier cells made is still there`;
  return {ename: "OutOfMemory", evalue, traceback: [`OutOfMemory: ${evalue}`]};
}
