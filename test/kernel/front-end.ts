import {type ChildProcess, spawn} from "node:child_process";
import {mkdtempSync, readFileSync, rmSync} from "node:fs";
import {tmpdir} from "node:os";
import path from "node:path";
import {fileURLToPath} from "node:url";
import {installKernel} from "../../lib/dist/kernel/install.js";

/** A message as it arrived at the front-end; `at` on the clock of `now` [s]. */
export interface Message {
  channel: "iopub" | "shell" | "control";
  type: string;
  id: string;
  parent: string | null;
  // biome-ignore lint/suspicious/noExplicitAny: contents are as many as message types
  content: any;
  at: number;
}

/** A request with everything that came until it was answered; times in seconds of one clock. */
export interface Answer {
  id: string;
  at: number;
  done: number;
  complete: boolean;
  messages: Message[];
}

/** jupyter_client with one kernel, driven from a test. */
export interface FrontEnd {
  /** seconds until a client could use the kernel */
  ready: number;
  pid: number;
  /** the connection file */
  connection: string;
  /** what the kernel wrote on the terminal of whoever started it */
  terminal(): string;
  ask(channel: "shell" | "control", type: string, content?: object): Promise<Answer>;
  execute(code: string, more?: object): Promise<Answer>;
  /** Sends a request and does not wait. */
  send(channel: "shell" | "control", type: string, content?: object): Promise<{id: string; at: number}>;
  /** Sends requests to run cells, one right behind the other. */
  sendCells(codes: string[], more?: object): Promise<{id: string; at: number}[]>;
  /** What arrives within a time [s]. */
  take(seconds: number): Promise<Message[]>;
  interrupt(): Promise<{at: number}>;
  raw(channel: "shell" | "control", frames: Buffer[]): Promise<void>;
  isAlive(): Promise<{alive: boolean; beating: boolean}>;
  /** Asks the kernel to end; seconds until it had. */
  stop(): Promise<{seconds: number}>;
}

/** A folder in which Jupyter finds our kernel as "fairpull" and "tslab", and nothing of the user's. */
export function kernelEnvironment(): {env: NodeJS.ProcessEnv; folder: string; remove(): void} {
  const folder = mkdtempSync(path.join(tmpdir(), "fairpull jupyter "));
  for (const name of ["fairpull", "tslab"]) installKernel(name, folder);
  const env = {
    ...process.env,
    JUPYTER_DATA_DIR: folder,
    JUPYTER_CONFIG_DIR: folder,
    JUPYTER_RUNTIME_DIR: path.join(folder, "runtime"),
    IPYTHONDIR: folder,
    PYTHONWARNINGS: "ignore",
  };
  return {env, folder, remove: () => rmSync(folder, {recursive: true, force: true})};
}

/** The Python that a Jupyter program runs on. */
export function pythonOf(jupyterProgram: string): string {
  const [, python] = /^#!\s*(\S+)/.exec(readFileSync(jupyterProgram, "utf8").slice(0, 200)) ?? [];
  return python ?? "python3";
}

/** Starts a kernel under jupyter_client and waits until it can be used. */
export async function startFrontEnd(
  jupyterProgram: string,
  {env, cwd, kernel = "fairpull"}: {env: NodeJS.ProcessEnv; cwd: string; kernel?: string},
): Promise<FrontEnd> {
  const script = fileURLToPath(new URL("front-end.py", import.meta.url));
  const python: ChildProcess = spawn(pythonOf(jupyterProgram), [script], {env, stdio: "pipe"});
  let terminal = "";
  python.stderr!.setEncoding("utf8").on("data", text => {
    terminal += text;
  });
  let held = "";
  let onLine: (line: string | null) => void = () => {};
  python.stdout!.setEncoding("utf8").on("data", (chunk: string) => {
    held += chunk;
    if (!chunk.endsWith("\n")) return;
    onLine(held);
    held = "";
  });
  python.on("close", () => onLine(null));
  const call = async (command: string, given: object = {}) => {
    const line = await new Promise<string | null>(resolve => {
      onLine = resolve;
      python.stdin!.write(`${JSON.stringify([command, given])}\n`);
    });
    if (line === null) throw new Error(`the front-end ended: ${terminal}`);
    const answer = JSON.parse(line);
    if (answer.failed) throw new Error(`${command}: ${answer.failed}\n${terminal}`);
    return answer;
  };
  const {seconds, pid, connection} = await call("start", {name: kernel, cwd});
  return {
    ready: seconds,
    pid,
    connection,
    terminal: () => terminal,
    ask: (channel, type, content = {}) => call("ask", {channel, type, content}),
    execute: (code, more = {}) =>
      call("ask", {channel: "shell", type: "execute_request", content: {code, ...more}}),
    send: (channel, type, content = {}) => call("send", {channel, type, content}),
    sendCells: (codes, more = {}) =>
      call("send_all", {
        channel: "shell",
        requests: codes.map(code => ["execute_request", {code, ...more}]),
      }),
    take: async timeout => (await call("take", {timeout})).messages,
    interrupt: () => call("interrupt"),
    raw: async (channel, frames) =>
      void (await call("raw", {channel, frames: frames.map(frame => frame.toString("base64"))})),
    isAlive: () => call("is_alive"),
    async stop() {
      const answer = await call("stop");
      python.stdin!.end();
      return answer;
    },
  };
}

/** Types of the messages of an answer, without the kernel's states, each run of one type once. */
export function kinds({messages}: Pick<Answer, "messages">): string[] {
  return messages
    .filter(({channel, type}) => channel === "iopub" && type !== "status")
    .map(({type}) => type)
    .filter((type, i, all) => type !== all[i - 1]);
}

/** The content of the first message of a type. */
// biome-ignore lint/suspicious/noExplicitAny: as in Message
export function contentOf({messages}: Pick<Answer, "messages">, type: string): any {
  return messages.find(message => message.type === type)?.content;
}
