import assert from "node:assert/strict";
import {tmpdir} from "node:os";
import {afterAll, beforeAll, describe, it} from "vitest";
import {requireBuild} from "../repo/built.ts";
import {requireTool} from "../require.ts";
import {contentOf, type FrontEnd, kernelEnvironment, startFrontEnd} from "./front-end.ts";

const jupyter = requireTool("jupyter");

/** Longest time from the interrupt to the reply [s]. */
const STOP_LIMIT_S = 0.3;

/** Ways never to end. `count` would go on where a loop lived on after its cell. */
const LOOPS: [title: string, code: string][] = [
  ["a plain loop", "while (true) count++;"],
  ["a loop behind an await", "await null;\nwhile (true) count++;"],
  ["a loop in a timer", "setTimeout(() => { while (true) count++; }, 0);\nawait new Promise(() => {});"],
  ["a loop of awaits", "while (true) { count++; await null; }"],
  ["a promise that never settles", "await new Promise(() => {});"],
  ["a loop of short sleeps", "while (true) { count++; await new Promise(done => setTimeout(done, 1)); }"],
  [
    "a loop of sleeps by another name",
    'import {setTimeout as sleep} from "node:timers/promises";\nwhile (true) { count++; await sleep(2); }',
  ],
  [
    "a loop of reading files",
    'import {stat} from "node:fs/promises";\nwhile (true) { count++; await stat("."); }',
  ],
  [
    "a chain of immediates",
    "const again = () => { count++; setImmediate(again); };\nagain();\nawait new Promise(() => {});",
  ],
  [
    "a chain of ticks",
    "process.nextTick(function again() { count++; process.nextTick(again); });\nawait new Promise(() => {});",
  ],
  ["a loop in an interval", "setInterval(() => { while (true) count++; }, 1);\nawait new Promise(() => {});"],
  ["a loop that catches everything", "while (true) { try { count++; throw 1; } catch {} }"],
  ["a pattern that never ends", "/(a+)+b/.test('a'.repeat(40));"],
];

describe.skipIf(!jupyter.path)(`interrupting the kernel${jupyter.title}`, () => {
  let place: ReturnType<typeof kernelEnvironment>;
  let kernel: FrontEnd;
  beforeAll(async () => {
    requireBuild();
    place = kernelEnvironment();
    kernel = await startFrontEnd(jupyter.path!, {env: place.env, cwd: tmpdir()});
    await kernel.execute("let count = 0;\nconst kept = {value: 41};");
  });
  afterAll(async () => {
    assert.ok((await kernel.stop()).seconds < 5);
    place.remove();
  });

  for (const [title, code] of LOOPS) {
    it(`stops ${title}, completes while it runs, and keeps the variables`, async () => {
      const sent = await kernel.send("shell", "execute_request", {code});
      await kernel.take(0.1);
      const asked = await kernel.ask("shell", "complete_request", {code: "kept.val", cursor_pos: 8});
      assert.deepEqual(contentOf(asked, "complete_reply").matches, ["value"]);
      const {at} = await kernel.interrupt();
      const reply = (await kernel.take(0.5)).find(
        ({type, parent}) => type === "execute_reply" && parent === sent.id,
      );
      assert.ok(reply, "the cell was not stopped");
      assert.equal(reply.content.ename, "Interrupted");
      assert.ok(reply.at - at < STOP_LIMIT_S, `it took ${(reply.at - at).toFixed(3)} s`);
      const first = contentOf(await kernel.execute("[++kept.value, count]"), "execute_result").data[
        "text/plain"
      ];
      const second = contentOf(await kernel.execute("[kept.value, count]"), "execute_result").data[
        "text/plain"
      ];
      assert.equal(first, second, "the loop lives on");
    });
  }

  it("frees a cell that a timer of an earlier cell kept waiting, and says so", async () => {
    await kernel.execute("setTimeout(() => { while (true); }, 20);\nundefined");
    await kernel.take(0.1);
    const sent = await kernel.send("shell", "execute_request", {code: "kept.value"});
    await kernel.take(0.2);
    await kernel.interrupt();
    const messages = await kernel.take(0.5);
    const own = messages.filter(({parent}) => parent === sent.id);
    assert.match(contentOf({messages: own}, "stream")?.text, /A timer of an earlier cell ran without end/);
    assert.equal(contentOf({messages: own}, "execute_reply")?.status, "ok");
  });
});
