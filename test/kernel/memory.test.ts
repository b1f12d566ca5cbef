import assert from "node:assert/strict";
import {readFileSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import path from "node:path";
import {afterAll, beforeAll, describe, it} from "vitest";
import {requireBuild} from "../repo/built.ts";
import {requireTool} from "../require.ts";
import {contentOf, type FrontEnd, kernelEnvironment, startFrontEnd} from "./front-end.ts";

const jupyter = requireTool("jupyter");
const HEAP_MIB = 400; // small, so that it is full soon

describe.skipIf(!jupyter.path)(`a kernel whose memory runs out${jupyter.title}`, () => {
  let place: ReturnType<typeof kernelEnvironment>;
  let kernel: FrontEnd;
  beforeAll(async () => {
    requireBuild();
    place = kernelEnvironment();
    const file = path.join(place.folder, "kernels", "fairpull", "kernel.json");
    const spec = JSON.parse(readFileSync(file, "utf8"));
    spec.argv.splice(1, 0, `--max-old-space-size=${HEAP_MIB}`);
    writeFileSync(file, JSON.stringify(spec));
    kernel = await startFrontEnd(jupyter.path!, {env: place.env, cwd: tmpdir()});
    await kernel.execute("const kept = 5;");
  });
  afterAll(async () => {
    await kernel.stop();
    place.remove();
  });

  // no fill(): from Node 24 on, V8 looks for no interruption in an optimised loop that calls it
  for (const [title, code] of [
    ["lists", "const all: number[][] = [];\nwhile (true) all.push(Array.from({length: 1000}, (_, i) => i));"],
    ["texts", 'const all: string[] = [];\nfor (let i = 0; ; i++) all.push("x".repeat(1000) + i);'],
  ] as const) {
    it(`stops a cell that fills it with ${title}, in words, and keeps the variables`, async () => {
      const {ename, evalue} = contentOf(await kernel.execute(code), "error");
      assert.equal(ename, "OutOfMemory");
      assert.match(
        evalue,
        /before it ran out of memory \(limit \d+ MiB\); what earlier cells made is still there/,
      );
      assert.equal(contentOf(await kernel.execute("kept"), "execute_result").data["text/plain"], "5");
    });
  }
});
