import assert from "node:assert/strict";
import {createHmac} from "node:crypto";
import {mkdtempSync, readFileSync, rmSync} from "node:fs";
import {tmpdir} from "node:os";
import path from "node:path";
import {afterAll, beforeAll, describe, it} from "vitest";
import {sourceMark} from "../../lib/notebook/source-mark.ts";
import {requireBuild} from "../repo/built.ts";
import {requireTool} from "../require.ts";
import {contentOf, type FrontEnd, kernelEnvironment, kinds, startFrontEnd} from "./front-end.ts";

const jupyter = requireTool("jupyter");

describe.skipIf(!jupyter.path)(`the kernel under jupyter_client${jupyter.title}`, () => {
  let place: ReturnType<typeof kernelEnvironment>;
  let kernel: FrontEnd;
  let folder: string;
  beforeAll(async () => {
    requireBuild();
    folder = mkdtempSync(path.join(tmpdir(), "a notebook's folder "));
    place = kernelEnvironment();
    kernel = await startFrontEnd(jupyter.path!, {env: place.env, cwd: folder});
  });
  afterAll(async () => {
    await kernel.stop();
    place.remove();
    rmSync(folder, {recursive: true});
  });
  const text = async (code: string) =>
    contentOf(await kernel.execute(code), "execute_result")?.data["text/plain"];

  it("tells language, version and lexer", async () => {
    const {language_info, protocol_version, status} = contentOf(
      await kernel.ask("shell", "kernel_info_request"),
      "kernel_info_reply",
    );
    assert.equal(status, "ok");
    assert.equal(protocol_version, "5.3");
    const {name, version, pygments_lexer} = language_info;
    assert.deepEqual([name, version, pygments_lexer], ["typescript", "5.0.4", "typescript"]);
  });

  it("answers a cell with its input, its outputs, its value and counts", async () => {
    const asked = 'console.log("one");\nconst a = 1;\na + 1';
    const answer = await kernel.execute(asked);
    assert.deepEqual(kinds(answer), ["execute_input", "stream", "execute_result"]);
    const {execution_count: count} = contentOf(answer, "execute_reply");
    assert.equal(contentOf(answer, "execute_input").execution_count, count);
    assert.deepEqual(contentOf(answer, "stream"), {name: "stdout", text: "one\n"});
    assert.deepEqual(contentOf(answer, "execute_result"), {
      data: {"text/plain": "2"},
      metadata: sourceMark(asked), // by which a later change of the cell is seen
      execution_count: count,
    });
    const states = answer.messages
      .filter(message => message.type === "status" && message.parent === answer.id)
      .map(message => message.content.execution_state);
    assert.deepEqual(states, ["busy", "idle"]);
    assert.equal(contentOf(await kernel.execute("1"), "execute_reply").execution_count, count + 1);
  });

  it("runs silently: no input, no value, no count", async () => {
    const before = contentOf(await kernel.execute("1"), "execute_reply").execution_count;
    const answer = await kernel.execute('console.log("still heard");\n5', {silent: true});
    assert.deepEqual(kinds(answer), ["stream"]);
    assert.equal(contentOf(await kernel.execute("1"), "execute_reply").execution_count, before + 1);
  });

  it("maps the frames of an error to cell and line", async () => {
    const {status} = contentOf(
      await kernel.execute(
        "interface A { x: number }\n\nfunction bad(a: A) {\n  throw new RangeError('too far: ' + a.x);\n}",
      ),
      "execute_reply",
    );
    const answer = await kernel.execute("// a comment\nbad({x: 3})");
    const {ename, evalue, traceback} = contentOf(answer, "error");
    assert.equal(status, "ok");
    assert.deepEqual([ename, evalue], ["RangeError", "too far: 3"]);
    assert.match(traceback[1], /^ {4}at bad \(cell \d+:4:9\)$/);
    assert.match(traceback[2], /^ {4}at cell \d+:2:1$/);
    assert.equal(contentOf(answer, "execute_reply").status, "error");
  });

  const failing: [title: string, code: string, ename: string, evalue: RegExp][] = [
    ["a syntax error", "const = 3;", "TypeScriptError", /line 1: Variable declaration expected/],
    ["a type error", 'const n: number = "x";', "TypeScriptError", /not assignable to type 'number'/],
    ["a thrown text", 'throw "word"', "Thrown", /^'word'$/],
    ["a missing package", 'import x from "not-there";', "TypeScriptError", /npm install not-there$/],
    [
      "a missing package at run time",
      'require("@some/not-there/part")',
      "Error",
      /npm install @some\/not-there$/,
    ],
    ["process.exit", "process.exit(3)", "ExitNotAllowed", /process\.exit\(3\) was called/],
    ["an unhandled rejection", 'Promise.reject(new Error("lost"));\n5', "Error", /^lost$/],
    [
      "an error in a timer",
      'setTimeout(() => { throw new Error("late") }, 5);\nawait new Promise(() => {});',
      "Error",
      /^late$/,
    ],
  ];
  for (const [title, code, ename, evalue] of failing) {
    it(`tells ${title} as the error of the cell, and goes on`, async () => {
      const answer = await kernel.execute(code);
      const error = contentOf(answer, "error");
      assert.equal(error?.ename, ename);
      assert.match(error.evalue, evalue);
      assert.equal(contentOf(answer, "execute_reply").ename, ename);
      assert.equal(await text("6 * 7"), "42");
    });
  }

  it("underlines a type error in its line", async () => {
    const {traceback} = contentOf(await kernel.execute('1;\nconst n: number = "x";'), "error");
    assert.deepEqual(traceback.slice(1), [
      "line 2, column 7: Type 'string' is not assignable to type 'number'.",
      '  const n: number = "x";',
      "        ~",
    ]);
  });

  it("shows whole bundles, replaces what has an id, and clears", async () => {
    const answer = await kernel.execute(`
      const display = (globalThis as any)[Symbol.for("fairpull.display")];
      const both = (x: number) => ({[Symbol.for("Jupyter.display")]: () => ({"text/html": "<b>" + x + "</b>", "a/x+json": '{"x": ' + x + '}', "text/plain": "x"})});
      display(both(1), {id: "d"});
      display(both(2), {id: "d", update: true});
      (globalThis as any)[Symbol.for("fairpull.clear")](true);
      import * as tslab from "tslab";
      const one = tslab.newDisplay();
      one.text("first"); one.text("second");`);
    assert.deepEqual(kinds(answer), [
      "execute_input",
      "display_data",
      "update_display_data",
      "clear_output",
      "display_data",
      "update_display_data",
    ]);
    const [shown, , , again] = answer.messages.filter(message => "transient" in message.content);
    const changed = contentOf(answer, "update_display_data");
    assert.deepEqual(shown!.content.data, {"text/html": "<b>1</b>", "a/x+json": {x: 1}, "text/plain": "x"});
    assert.deepEqual(changed.data["text/html"], "<b>2</b>");
    assert.equal(shown!.content.transient.display_id, changed.transient.display_id);
    assert.deepEqual(again!.content.data, {"text/plain": "second"});
    assert.deepEqual(contentOf(answer, "clear_output"), {wait: true});
  });

  it("shows what a loop displays while it runs", async () => {
    const answer = await kernel.execute(`
      const show = (globalThis as any)[Symbol.for("fairpull.display")];
      show("early"); for (const end = Date.now() + 300; Date.now() < end;);`);
    const shown = answer.messages.find(({type}) => type === "display_data")!;
    assert.ok(answer.done - shown.at > 0.15, `shown only ${answer.done - shown.at} s before the end`);
  });

  it("aborts what was sent behind a failing cell, unless told not to", async () => {
    const sent = await kernel.sendCells(['throw new Error("stop here")', "1", "2"]);
    const replies = (await kernel.take(1.5)).filter(({type}) => type === "execute_reply");
    assert.deepEqual(
      sent.map(({id}) => replies.find(reply => reply.parent === id)?.content.status),
      ["error", "aborted", "aborted"],
    );
    assert.equal(await text("3"), "3");
    const going = await kernel.sendCells(['throw new Error("go on")', "1"], {stop_on_error: false});
    const others = (await kernel.take(1.5)).filter(({type}) => type === "execute_reply");
    assert.deepEqual(
      going.map(({id}) => others.find(reply => reply.parent === id)?.content.status),
      ["error", "ok"],
    );
  });

  it("tells what a cell prints after its end as that cell's", async () => {
    const first = await kernel.execute('setTimeout(() => console.log("late"), 150);\nundefined');
    const second = await kernel.execute("await new Promise(done => setTimeout(done, 400));");
    const late = second.messages.find(({type}) => type === "stream")!;
    assert.equal(late.content.text, "late\n");
    assert.equal(late.parent, first.id);
    const failing = await kernel.execute('setTimeout(() => { throw new Error("later") }, 400);\nundefined');
    const error = (await kernel.take(0.8)).find(({type}) => type === "error")!;
    assert.deepEqual([error.parent, error.content.evalue], [failing.id, "later"]);
  });

  it("cuts what nobody could open: 200 MB printed, with a word", async () => {
    const answer = await kernel.execute(
      'const block = "x".repeat(1e6) + "\\n";\nfor (let i = 0; i < 200; i++) console.log(block);\n"done"',
    );
    const streams = answer.messages.filter(({type}) => type === "stream");
    const length = streams.reduce((sum, {content}) => sum + content.text.length, 0);
    assert.ok(length > 8e6 && length < 9e6, `${length} characters arrived`);
    assert.match(streams.at(-1)!.content.text, /more than 8 MiB; the rest is left out/);
    assert.equal(contentOf(answer, "execute_result").data["text/plain"], "'done'");
    assert.ok(answer.done - answer.at < 10, `it took ${answer.done - answer.at} s`);
  });

  it("completes and inspects by code points, also behind an emoji", async () => {
    await kernel.execute("/** How far. */\nfunction distanceOf(v: number): number { return v }");
    const code = '"😀"; distan';
    const reply = contentOf(
      await kernel.ask("shell", "complete_request", {code, cursor_pos: Array.from(code).length}),
      "complete_reply",
    );
    assert.deepEqual(reply.matches.slice(0, 1), ["distanceOf"]);
    assert.deepEqual([reply.cursor_start, reply.cursor_end], [5, 11]);
    for (const [asked, cursor_pos] of [
      ["distanceOf", 4],
      ["distanceOf", 10],
      ["distanceOf(3, ", 14],
    ] as const) {
      const {found, data} = contentOf(
        await kernel.ask("shell", "inspect_request", {code: asked, cursor_pos, detail_level: 0}),
        "inspect_reply",
      );
      assert.ok(found, `${asked} at ${cursor_pos}`);
      assert.match(data["text/plain"], /function distanceOf\(v: number\): number[\s\S]*How far\./);
    }
  });

  it("says whether a line is complete", async () => {
    const ask = async (code: string) =>
      contentOf(await kernel.ask("shell", "is_complete_request", {code}), "is_complete_reply");
    assert.deepEqual(await ask("const a = 1;"), {status: "complete"});
    assert.deepEqual(await ask("function f() {"), {status: "incomplete", indent: "  "});
  });

  it("keeps the history of the session", async () => {
    await kernel.execute("111");
    await kernel.execute("222");
    const ask = async (content: object) =>
      contentOf(await kernel.ask("shell", "history_request", content), "history_reply").history.map(
        (entry: unknown[]) => entry[2],
      );
    assert.deepEqual(await ask({hist_access_type: "tail", n: 2, raw: true, output: false}), ["111", "222"]);
    assert.deepEqual(await ask({hist_access_type: "search", pattern: "2*2", n: 5}), ["222"]);
  });

  it("answers widgets quietly, and drops what it does not know", async () => {
    const {comms, status} = contentOf(
      await kernel.ask("shell", "comm_info_request", {target_name: "jupyter.widget"}),
      "comm_info_reply",
    );
    assert.deepEqual([status, comms], ["ok", {}]);
    const opened = await kernel.ask("shell", "comm_open", {comm_id: "c", target_name: "t", data: {}});
    assert.equal(contentOf(opened, "comm_close").comm_id, "c");
    await kernel.ask("shell", "comm_msg", {comm_id: "c", data: {}});
    for (let i = 0; i < 3; i++) await kernel.send("shell", "strange_request", {});
    assert.equal(await text("1 + 1"), "2");
    assert.equal(kernel.terminal().match(/unknown type "strange_request" was dropped/g)?.length, 1);
    assert.doesNotMatch(kernel.terminal(), /comm_/);
  });

  it("gives nothing to a message that is not signed with the key, and logs it once", async () => {
    const header = {
      msg_id: "forged",
      msg_type: "execute_request",
      session: "s",
      username: "u",
      date: "",
      version: "5.3",
    };
    const parts = [header, {}, {}, {code: "globalThis.forged = true"}].map(part =>
      Buffer.from(JSON.stringify(part)),
    );
    const hmac = createHmac("sha256", "another key");
    for (const part of parts) hmac.update(part);
    const signed = hmac.digest("hex");
    for (const signature of [signed, signed, "", "zz"])
      await kernel.raw("shell", [Buffer.from("<IDS|MSG>"), Buffer.from(signature), ...parts]);
    await kernel.raw("shell", [Buffer.from("noise")]);
    const heard = await kernel.take(0.3);
    assert.deepEqual(
      heard.filter(({parent}) => parent === "forged"),
      [],
    );
    assert.equal(await text("typeof (globalThis as any).forged"), "'undefined'");
    assert.equal(kernel.terminal().match(/signature that does not belong/g)?.length, 1);
  });

  it("listens on the loopback alone", () => {
    const {ip, shell_port: port} = JSON.parse(readFileSync(kernel.connection, "utf8"));
    assert.equal(ip, "127.0.0.1");
    const hexPort = Number(port).toString(16).toUpperCase().padStart(4, "0");
    const sockets = readFileSync("/proc/net/tcp", "utf8").split("\n");
    const listening = sockets.filter(line => new RegExp(`:${hexPort} \\d{8}:0000 0A`).test(line));
    assert.deepEqual(
      listening.map(line => line.trim().split(/\s+/)[1]),
      [`0100007F:${hexPort}`],
    );
  });

  it("finds our packages in a folder that has none", async () => {
    assert.equal(
      await text(
        'import * as fp from "fairpull";\nimport jstat from "jstat";\n[typeof fp.judge, jstat.normal.cdf(0, 0, 1)]',
      ),
      "[ 'function', 0.5 ]",
    );
  });

  it("shows data frames as tables", async () => {
    const answer = await kernel.execute(
      'import * as dfd from "danfojs-node";\nnew dfd.DataFrame([{arm: "a<b", value: 1 / 3}, {arm: "c", value: NaN}])',
    );
    const {data} = contentOf(answer, "execute_result");
    assert.match(data["text/html"], /<th scope="col">arm<\/th>.*a&lt;b.*0\.333333.*–/);
    assert.equal(
      data["text/plain"],
      "   arm     value\n0  a<b  0.333333\n1  c           –\n[2 rows, 2 columns]",
    );
  });

  it("draws a figure before the cell ends, in order", async () => {
    const answer = await kernel.execute(`
      const figure = {[Symbol.for("Jupyter.display")]: () => ({"application/vnd.plotly.v1+json":
        {data: [{y: [1, 3, 2]}], layout: {meta: {fairpull: {id: "f", caption: "A <caption>", alt: "three points"}}}}, "text/plain": "Figure"})};
      (globalThis as any)[Symbol.for("fairpull.display")](figure);
      console.log("after");`);
    assert.deepEqual(kinds(answer), ["execute_input", "display_data", "stream"]);
    const {"text/html": html, "application/vnd.plotly.v1+json": spec} = contentOf(
      answer,
      "display_data",
    ).data;
    assert.deepEqual(spec.data, [{y: [1, 3, 2]}]);
    const [, base64] = /<img alt="three points" src="data:image\/svg\+xml;base64,([^"]+)">/.exec(html)!;
    assert.match(Buffer.from(base64!, "base64").toString(), /^<svg[\s\S]*<path/);
    assert.match(html, /<figcaption>A &lt;caption&gt;<\/figcaption>/);
  });

  it("still beats, and ends when told", async () => {
    assert.deepEqual(await kernel.isAlive(), {alive: true, beating: true});
  });
});
