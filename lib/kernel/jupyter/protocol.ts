import {randomUUID} from "node:crypto";
import type {MimeBundle} from "../../notebook/notebook.ts";
import {sourceMark} from "../../notebook/source-mark.ts";
import type {Compiler} from "../compile.ts";
import type {CellError} from "../error.ts";
import {createTurns} from "../turns.ts";
import type {CellEnd, CellMessage, Cells} from "./cells.ts";
import {type CodePlace, completeReply, inspectReply} from "./help.ts";
import {type HistoryEntry, historyReply, isCompleteReply, KERNEL_INFO} from "./replies.ts";
import type {Frames} from "./sockets.ts";
import {type Header, type Request, readMessage, writeMessage} from "./wire.ts";

export interface ProtocolParts {
  key: string;
  compiler: Compiler;
  cells: Cells;
  send(channel: "shell" | "control" | "iopub", frames: Frames): void;
  /** What is shown for a bundle: with a drawn picture, where it is a figure. */
  withPicture(bundle: MimeBundle): MimeBundle | Promise<MimeBundle>;
  /** For the terminal of whoever started the kernel. */
  log(words: string): void;
  /** Called after the reply to a request to end. */
  shutdown(): void;
}

/** The kernel's side of the Jupyter protocol, whatever carries the frames. */
export interface Protocol {
  receive(channel: "shell" | "control", frames: Buffer[]): void;
  /** What cells do while they run and afterwards. */
  onCell(message: CellMessage): void;
}

type Content = Record<string, unknown>;

interface Waiting {
  request: Request;
  channel: "shell" | "control";
}

/** Text of one stream is collected for so long [ms], so that a loop of prints is not a flood of messages. */
const STREAM_MS = 10;

export function createProtocol({key, compiler, cells, ...parts}: ProtocolParts): Protocol {
  const session = randomUUID();
  const queue: Waiting[] = [];
  const history: HistoryEntry[] = [];
  /** headers of the requests that started cells: whatever a cell does later is told as its own */
  const requests = new Map<number, Header>();
  /** what each request's outputs say of its source, so that a later change of the cell can be seen in the notebook */
  const marks = new WeakMap<Header, ReturnType<typeof sourceMark>>();
  const told = new Set<string>();
  /** a picture that is being drawn holds up what comes after it */
  const turns = createTurns(error => parts.log(String(error)));
  let count = 0;
  let cellNumber = 0;
  let declarations = "";
  let live: Header | null = null;
  let text: {cell: number; name: "stdout" | "stderr"; text: string} | null = null;

  const broadcast = (type: string, content: object, parent: Header | null) =>
    parts.send("iopub", writeMessage({type, content, parent, session}, [type], key));
  const status = (state: string, parent: Header | null) =>
    broadcast("status", {execution_state: state}, parent);
  const reply = ({channel, request}: Waiting, type: string, content: object) =>
    parts.send(
      channel,
      writeMessage({type, content, parent: request.header, session}, request.identities, key),
    );
  const logOnce = (words: string) => {
    if (!told.has(words)) parts.log(words);
    told.add(words);
  };
  const placeIn = (content: Content): CodePlace => {
    const code = String(content["code"] ?? "");
    return {declarations, code, cursor: Number(content["cursor_pos"] ?? code.length)};
  };
  /** Everything but running cells: the content of the reply, or null for messages that get none. */
  const answers: Record<string, (content: Content, header: Header) => object | null> = {
    kernel_info_request: () => KERNEL_INFO,
    complete_request: content => completeReply(compiler, placeIn(content)),
    inspect_request: content => inspectReply(compiler, placeIn(content)),
    is_complete_request: content => isCompleteReply(placeIn(content).code),
    history_request: content => historyReply(history, content),
    comm_info_request: () => ({status: "ok", comms: {}}),
    comm_open(content, header) {
      // nothing here talks to widgets; the protocol asks to close what nobody answers
      broadcast("comm_close", {comm_id: content["comm_id"], data: {}}, header);
      return null;
    },
    comm_msg: () => null,
    comm_close: () => null,
    interrupt_request() {
      cells.interrupt();
      return {status: "ok"};
    },
    shutdown_request(content, header) {
      const answer = {status: "ok", restart: content["restart"] === true};
      broadcast("shutdown_reply", answer, header);
      parts.shutdown();
      return answer;
    },
  };
  status("starting", null);

  return {
    receive(channel, frames) {
      let request: Request;
      try {
        request = readMessage(frames, key);
      } catch (error) {
        logOnce(`${error instanceof Error ? error.message : error}; it was dropped`);
        return;
      }
      const waiting = {channel, request};
      if (request.header.msg_type === "execute_request") {
        queue.push(waiting);
        if (live === null) void next();
        return;
      }
      status("busy", request.header);
      try {
        answer(waiting);
      } catch (error) {
        logOnce(`${request.header.msg_type} failed, ${error instanceof Error ? error.stack : error}`);
        reply(waiting, request.header.msg_type.replace(/request$/, "reply"), {
          status: "error",
          ename: "InternalError",
          evalue: String(error),
          traceback: [],
        });
      }
      status("idle", request.header);
      if (live) status("busy", live); // front-ends show the last state they hear
    },
    onCell: output,
  };

  function answer(waiting: Waiting): void {
    const {header, content} = waiting.request;
    const type = header.msg_type;
    const answer = Object.hasOwn(answers, type) ? answers[type] : undefined;
    if (!answer) logOnce(`a message of the unknown type "${type}" was dropped`);
    const answered = answer?.(content, header);
    if (answered) reply(waiting, type.replace(/request$/, "reply"), answered);
  }

  async function next(): Promise<void> {
    for (let waiting = queue.shift(); waiting !== undefined; waiting = queue.shift()) {
      live = waiting.request.header;
      status("busy", live);
      let failed: boolean;
      try {
        failed = await execute(waiting);
      } catch (error) {
        failed = true;
        parts.log(`execute_request failed, ${error instanceof Error ? error.stack : error}`);
      }
      const stopsOthers = failed && waiting.request.content["stop_on_error"] !== false;
      if (stopsOthers) {
        // what the front-end had sent by now may still lie in the socket
        await new Promise(resolve => setImmediate(resolve));
        for (const aborted of queue.splice(0)) abort(aborted);
      }
      status("idle", waiting.request.header);
      live = null;
    }
  }

  function abort(waiting: Waiting): void {
    status("busy", waiting.request.header);
    reply(waiting, "execute_reply", {status: "aborted", execution_count: count});
    status("idle", waiting.request.header);
  }

  /** @returns true if the cell failed */
  async function execute(waiting: Waiting): Promise<boolean> {
    const {header, content} = waiting.request;
    const code = String(content["code"] ?? "");
    const isSilent = content["silent"] === true;
    const cell = ++cellNumber;
    requests.set(cell, header);
    marks.set(header, sourceMark(code));
    if (!isSilent) {
      count++;
      broadcast("execute_input", {code, execution_count: count}, header);
      if (content["store_history"] !== false) history.push({count, code});
    }
    const {error, value} = await compileAndRun(cell, code);
    flushText();
    if (value && !isSilent) publish("execute_result", value, header, {execution_count: count});
    await turns.all();
    if (error) broadcast("error", error, header);
    reply(
      waiting,
      "execute_reply",
      error
        ? {status: "error", execution_count: count, ...error}
        : {
            status: "ok",
            execution_count: count,
            payload: [],
            user_expressions: unknownExpressions(content["user_expressions"]),
          },
    );
    return error !== null;
  }

  async function compileAndRun(cell: number, code: string): Promise<CellEnd> {
    if (code.trim() === "") return {error: null, value: null};
    const compiled = compiler.compile(declarations, code);
    if ("ename" in compiled) return {error: compiled, value: null};
    const end = await cells.run(cell, compiled);
    if (end.error === null) declarations = compiled.declarations;
    return end;
  }

  function output(message: CellMessage): void {
    const parent = requests.get(message.cell) ?? null;
    if (parent === null) return; // from before the first cell: loading of packages
    if (message.type === "stream") {
      addText(message);
      return;
    }
    flushText();
    if (message.type === "clear") turns.take(() => broadcast("clear_output", {wait: message.wait}, parent));
    else if (message.type === "late-error") turns.take(() => broadcast("error", message.error, parent));
    else {
      const {id, update, data} = message;
      const transient = id === undefined ? {} : {display_id: `${session}-${id}`};
      publish(update ? "update_display_data" : "display_data", data, parent, {transient});
    }
  }

  function addText({cell, name, text: more}: Extract<CellMessage, {type: "stream"}>): void {
    if (text && text.cell === cell && text.name === name) {
      text.text += more;
      return;
    }
    flushText();
    text = {cell, name, text: more};
    setTimeout(flushText, STREAM_MS);
  }

  function flushText(): void {
    if (text === null) return;
    const {cell, ...content} = text;
    text = null;
    turns.take(() => broadcast("stream", content, requests.get(cell)!));
  }

  function publish(type: string, data: MimeBundle, parent: Header, more: object): void {
    const drawn = parts.withPicture(data);
    const send = (bundle: MimeBundle) =>
      broadcast(type, {data: bundle, metadata: marks.get(parent) ?? {}, ...more}, parent);
    turns.take(drawn instanceof Promise ? drawn.then(bundle => () => send(bundle)) : () => send(drawn));
  }
}

/** Expressions that a front-end wants evaluated beside a cell: each is told to be unknown here. */
function unknownExpressions(expressions: unknown): Record<string, object> {
  const names = typeof expressions === "object" && expressions !== null ? Object.keys(expressions) : [];
  const error: CellError = {
    ename: "NotSupported",
    evalue: "this kernel evaluates cells alone",
    traceback: [],
  };
  return Object.fromEntries(names.map(name => [name, {status: "error", ...error}]));
}
