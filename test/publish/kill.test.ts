import assert from "node:assert/strict";
import {type ChildProcess, spawn} from "node:child_process";
import {mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import path from "node:path";
import {fileURLToPath} from "node:url";
import {afterAll, describe, it} from "vitest";

const writer = fileURLToPath(new URL("../../lib/dist/publish/write-whole.js", import.meta.url));
const folder = mkdtempSync(path.join(tmpdir(), "fairpull-kill-"));
afterAll(() => rmSync(folder, {recursive: true}));

/** Size of what is written: large enough that a kill falls into the write. */
const BYTES = 20_000_000;
const KILLS = 8;

/** Writes new pages without end until it is killed; says "ready" when the first one is in its place. */
const SCRIPT = `
  const {writeWhole} = await import(process.argv[1]);
  for (let i = 0; ; i++) {
    await writeWhole(process.argv[2], "new".padEnd(${BYTES}, String(i % 10)));
    if (i === 0) process.stdout.write("ready");
  }`;

describe("writeWhole", () => {
  it("leaves the old file or a new one, whole, wherever it is killed", async () => {
    const file = path.join(folder, "page.html");
    for (let kill = 0; kill < KILLS; kill++) {
      writeFileSync(file, "old");
      const child = spawn(process.execPath, ["--input-type=module", "-e", SCRIPT, writer, file], {
        stdio: ["ignore", "pipe", "inherit"],
      });
      await (kill % 2 ? ready(child) : started(child));
      await new Promise(done => setTimeout(done, 7 * kill)); // at another place of the write each time
      child.kill("SIGKILL");
      await new Promise(done => child.once("close", done));
      const left = readFileSync(file, "latin1");
      const isOld = left === "old";
      const isNew = left === "new".padEnd(BYTES, left[3]);
      assert.ok(isOld || isNew, `kill ${kill}: ${left.length} bytes, ${left.slice(0, 20)}`);
      for (const name of readdirSync(folder)) if (name.endsWith(".part")) rmSync(path.join(folder, name));
    }
  });
});

function ready(child: ChildProcess): Promise<unknown> {
  return new Promise(done => child.stdout!.once("data", done));
}

function started(child: ChildProcess): Promise<unknown> {
  return new Promise(done => child.once("spawn", done));
}
