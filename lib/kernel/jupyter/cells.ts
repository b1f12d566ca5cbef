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
  /** Ends the process, after terminating what runs. */
  end(): void;
}

/** A stop that was not dealt with by then is tried again [ms]. */
const STOP_AGAIN_MS = 50;

/** A main thread that is asked to end the process and does not is ended from here [ms]. */
const END_MS = 500;

/** How often the heap is looked at while a cell runs [ms]; a fast loop fills some 50 MiB in that time. */
const HEAP_LOOK_MS = 50;

/** Share of the heap at which a cell is stopped: V8 ends the whole process when it is full. */
const HEAP_SHARE = 0.85;

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
      if (running?.cell === message.cell) running.hasStarted = true;
    } else if (message.type === "stopped") {
      if (retry) clearInterval(retry);
      retry = null;
    } else if (message.type !== "finished" && message.type !== "input") onMessage(message);
  });

  const send = (message: ToRunner) => port.postMessage(message);

  function stop(error: CellError): void {
    if (retry) return; // being stopped already
    const attempt = () => {
      session.post("Runtime.terminateExecution");
      send({type: "stop", cell: running?.cell ?? 0, error});
    };
    attempt();
    retry = setInterval(attempt, STOP_AGAIN_MS);
  }

  function lookAtHeap(): void {
    if (process.memoryUsage.rss() < heapLimitBytes / 2) return;
    session.post("Runtime.getHeapUsage", (error: Error | null, usage?: {usedSize: number}) => {
      if (!error && usage && usage.usedSize > HEAP_SHARE * heapLimitBytes) stop(outOfMemory(heapLimitBytes));
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
    interrupt: () => stop(interrupted(running === null || running.hasStarted)),
    end() {
      if (retry) clearInterval(retry);
      session.post("Runtime.terminateExecution", () => {
        session.disconnect(); // the process would wait for it
        port.postMessage({type: "exit"});
      });
      setTimeout(() => process.kill(process.pid, "SIGKILL"), END_MS);
    },
  };
}

function interrupted(hasStarted: boolean): CellError {
  const evalue = hasStarted
    ? "the cell was stopped; what earlier cells made is still there"
    : "the cell could not begin, since a timer of an earlier cell ran without end; both were stopped";
  return {ename: "Interrupted", evalue, traceback: [`Interrupted: ${evalue}`]};
}

function outOfMemory(limitBytes: number): CellError {
  const limitMib = Math.round(limitBytes / 2 ** 20);
  const evalue = `the cell was stopped before it ran out of memory (limit ${limitMib} MiB); what earlier cells made is still there`;
  return {ename: "OutOfMemory", evalue, traceback: [`OutOfMemory: ${evalue}`]};
}
