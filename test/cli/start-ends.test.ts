import assert from "node:assert/strict";
import {spawn} from "node:child_process";
import {existsSync, mkdirSync, mkdtempSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {afterAll, beforeAll, describe, it} from "vitest";

/** `start` of the build, told its folder and standing alone in its process, as `npm start` runs it. */
const SCRIPT = `
import {start} from ${JSON.stringify(new URL("../../lib/dist/cli/start.js", import.meta.url).href)};
const [root, ...args] = process.argv.slice(2);
process.exitCode = await start({root, args, out: root + "/out", stdout: process.stdout, stderr: process.stderr});
`;
/** Far more than the two seconds it takes, far less than for ever [ms]. */
const PATIENCE_MS = 20_000;

const root = mkdtempSync(join(tmpdir(), "fairpull start "));

function run(...args: string[]): Promise<{code: number | null; stdout: string; stderr: string}> {
  return new Promise(done => {
    const child = spawn(process.execPath, [join(root, "start.mjs"), root, ...args], {
      stdio: ["ignore", "pipe", "pipe"],
      timeout: PATIENCE_MS,
      killSignal: "SIGKILL",
    });
    const outcome = {stdout: "", stderr: ""};
    child.stdout.on("data", text => (outcome.stdout += text));
    child.stderr.on("data", text => (outcome.stderr += text));
    child.on("close", code => done({...outcome, code}));
  });
}

describe("npm start with real notebooks", () => {
  beforeAll(() => {
    writeFileSync(join(root, "start.mjs"), SCRIPT); // a file: under --eval the process ends in any case
    for (const [name, source] of [
      ["plain", "console.log(1 + 1)"],
      ["wrong", "console.log(notThere)"],
    ]) {
      const cell = {cell_type: "code", id: "only", metadata: {}, execution_count: null, outputs: [], source};
      const notebook = {
        cells: [cell],
        metadata: {language_info: {name: "typescript"}},
        nbformat: 4,
        nbformat_minor: 5,
      };
      mkdirSync(join(root, "notebooks", name), {recursive: true});
      writeFileSync(join(root, "notebooks", name, "notebook.ipynb"), JSON.stringify(notebook));
    }
  });
  afterAll(() => rmSync(root, {recursive: true, force: true}));

  // The thread that draws figures once kept the process alive where no notebook had one.
  it("ends by itself where no notebook shows a figure", async () => {
    const {code, stdout, stderr} = await run("plain");
    assert.equal(code, 0, stderr || "killed, since it did not end");
    assert.match(stdout, /^plain: ran, without a verdict\nOpen .*index\.html\n$/);
    assert.ok(existsSync(join(root, "out", "plain.html")));
  });

  it("ends with 1 where one fails, names the cell, and publishes the other", async () => {
    const {code, stdout, stderr} = await run();
    assert.equal(code, 1, stderr || "killed, since it did not end");
    assert.match(stdout, /^plain: ran/);
    assert.match(stderr, /^wrong: failed: .*cell 1 \("only"\) failed[\s\S]*Cannot find name 'notThere'/);
    assert.ok(!existsSync(join(root, "out", "wrong.html")), "a page of a notebook that failed");
  });
});
