import {type ChildProcess, fork} from "node:child_process";
import {fileURLToPath} from "node:url";
import type {CompiledCell} from "./compile.ts";
import type {CellError} from "./error.ts";
import {readMarks} from "./marks.ts";
import type {FromRunner, ToRunner} from "./messages.ts";

export interface ChildOptions {
  /** the notebook's folder: working directory of the cells */
  folder: string;
  /** heap of the process [MiB] */
  memoryMib: number;
  /** what cells print, show and read, as it happens */
  onMessage(message: Exclude<FromRunner, {type: "started" | "done" | "stopped" | "finished"}>): void;
}

/** How a cell ended; `survived` false = its process is gone and with it every variable. */
export interface CellEnd {
  error: CellError | null;
  value: Record<string, unknown> | null;
  survived: boolean;
}

/** A process that runs the cells of one notebook and can be killed. */
export interface Child {
  preload(cell: number, packages: string[]): void;
  run(cell: number, compiled: CompiledCell, timeLimitS: number): Promise<CellEnd>;
  /** Waits until nothing is left to happen, at most `graceS`; false = something still was. */
  finish(graceS: number): Promise<boolean>;
  kill(): void;
}

export function startChild({folder, memoryMib, onMessage}: ChildOptions): Child {
  const child = fork(fileURLToPath(new URL("./child.js", import.meta.url)), [], {
    cwd: folder,
    execArgv: [`--max-old-space-size=${memoryMib}`, "--disable-warning=ExperimentalWarning"],
    stdio: ["ignore", "pipe", "pipe", "ipc"],
    serialization: "advanced",
  });
  const letGo = killWithParent(child);
  let cellNow = 0;
  let ranOutOfMemory = false;
  let timedOut: number | null = null;
  let onDone: ((end: CellEnd) => void) | null = null;
  let onFinished: ((complete: boolean) => void) | null = null;
  let gone: CellEnd | null = null;

  let marks = 0;
  let done: Extract<FromRunner, {type: "done"}> | null = null;

  /** A cell is over when its last message and the marks on its output streams have arrived: they come on three ways. */
  const settle = () => {
    if (done && marks >= (done.marks ?? 0)) onDone?.({error: done.error, value: done.value, survived: true});
  };
  child.on("message", (message: FromRunner) => {
    if (message.type === "done") {
      done = message;
      settle();
    } else if (message.type === "finished") onFinished?.(true);
    else if (message.type !== "started" && message.type !== "stopped") onMessage(message);
  });
  // what reaches the real streams: grandchildren, writes to file descriptor 1, Node's own last words
  for (const name of ["stdout", "stderr"] as const) {
    const onText = (text: string) => {
      if (/heap out of memory|<--- Last few GCs --->/.test(text)) ranOutOfMemory = true;
      if (!ranOutOfMemory) onMessage({type: "stream", cell: cellNow, name, text});
    };
    const onMark = () => {
      marks++;
      settle();
    };
    child[name]!.setEncoding("utf8").on("data", readMarks(onText, onMark));
  }
  child.on("error", error =>
    end("ProcessFailed", `the process that runs the cells could not be started: ${error.message}`),
  );
  child.on("close", (code, signal) => {
    if (timedOut !== null) {
      end("CellTimeLimit", `the cell ran longer than ${timedOut} s and was stopped; every variable is gone`);
    } else if (ranOutOfMemory) {
      end("OutOfMemory", `the cell ran out of memory (limit ${memoryMib} MiB)`);
    } else {
      end(
        "ProcessEnded",
        `the process that runs the cells ended by itself (${signal ?? `exit code ${code}`})`,
      );
    }
  });

  function end(ename: string, evalue: string): void {
    letGo();
    gone ??= {error: {ename, evalue, traceback: [`${ename}: ${evalue}`]}, value: null, survived: false};
    onDone?.(gone);
    onFinished?.(false);
  }

  const send = (message: ToRunner) => {
    if (child.connected) child.send(message);
  };

  return {
    preload: (cell, packages) => send({type: "preload", cell, packages}),
    run(cell, {declarations: _declarations, ...compiled}, timeLimitS) {
      cellNow = cell;
      marks = 0;
      done = null;
      if (gone) return Promise.resolve(gone);
      return new Promise(resolve => {
        const timer = setTimeout(() => {
          timedOut = timeLimitS;
          child.kill("SIGKILL");
        }, 1000 * timeLimitS);
        onDone = result => {
          onDone = null;
          clearTimeout(timer);
          resolve(result);
        };
        send({type: "run", cell, ...compiled});
      });
    },
    finish(graceS) {
      if (gone) return Promise.resolve(true);
      return new Promise(resolve => {
        const timer = setTimeout(() => onFinished?.(false), 1000 * graceS);
        onFinished = complete => {
          onFinished = null;
          clearTimeout(timer);
          resolve(complete);
        };
        send({type: "finish"});
      });
    },
    kill() {
      letGo();
      child.removeAllListeners("close");
      child.kill("SIGKILL");
    },
  };
}

/** An endless cell must not outlive us: kills the child when this process ends or is told to. */
function killWithParent(child: ChildProcess): () => void {
  const kill = () => child.kill("SIGKILL");
  const terminated = (signal: NodeJS.Signals) => {
    kill();
    process.kill(process.pid, signal);
  };
  process.once("exit", kill);
  process.once("SIGTERM", terminated);
  return () => {
    process.off("exit", kill);
    process.off("SIGTERM", terminated);
  };
}
