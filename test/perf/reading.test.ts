import assert from "node:assert/strict";
import {execFileSync} from "node:child_process";
import {mkdtempSync, readFileSync, rmSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {fileURLToPath} from "node:url";
import {afterAll, describe, it} from "vitest";
import {writeLog} from "./reading/write-log.ts";

const folder = mkdtempSync(join(tmpdir(), "fairpull-reading-"));
afterAll(() => rmSync(folder, {recursive: true}));
const COLUMNS = 30;

interface Timing {
  seconds: number[];
  peak: number;
  shape: [rows: number, columns: number];
}

/** What a script of reading/ takes in a process of its own. */
function timing(reader: string, file: string, loads: number): Timing {
  const script = fileURLToPath(new URL(`reading/${reader}.mjs`, import.meta.url));
  const options = {encoding: "utf8" as const, maxBuffer: 1 << 20};
  return JSON.parse(
    execFileSync(process.execPath, ["--max-old-space-size=12000", script, file, String(loads)], options),
  );
}

describe("reading 90 MB of numbers in 30 columns", () => {
  /** Readers and how many times as fast as each we are at least. */
  const RIVALS: [name: string, least: number, loads: number][] = [
    ["polars", 0.75, 5],
    ["duckdb", 2, 5],
    ["udsv", 4, 2],
    ["papaparse", 10, 1],
  ];
  it("is fast beside other readers, and takes less than 2.5 times the memory of the columns", () => {
    const file = join(folder, "90.csv");
    const {rows, bytes} = writeLog(file, 90, COLUMNS);
    readFileSync(file); // into the cache of the system
    const best = new Map<string, number>();
    let peak = 0;
    // in turns, so that what else the machine does falls on all of them
    for (let round = 0; round < 3; round++) {
      for (const [name, , loads] of [["fairpull", 1, 5] as const, ...RIVALS]) {
        const found = timing(name, file, loads);
        assert.deepEqual(found.shape, [rows, COLUMNS], name);
        best.set(name, Math.min(best.get(name) ?? Number.POSITIVE_INFINITY, ...found.seconds));
        if (name === "fairpull") peak = Math.max(peak, found.peak);
      }
    }
    const speed = (name: string) => bytes / 1e6 / best.get(name)!;
    const share = peak / (rows * COLUMNS * 8);
    console.log(
      `fairpull ${speed("fairpull").toFixed(0)} MB/s, peak memory ${share.toFixed(2)} times the columns`,
    );
    for (const [name] of RIVALS) {
      const ratio = speed("fairpull") / speed(name);
      console.log(`  ${name} ${speed(name).toFixed(0)} MB/s: here ${ratio.toFixed(2)} times as fast`);
    }
    assert.ok(share < 2.5, `peak memory: ${share} times the columns`);
    for (const [name, least] of RIVALS) {
      const ratio = speed("fairpull") / speed(name);
      assert.ok(ratio >= least, `${name}: ${ratio} times as fast, ${least} wanted`);
    }
  });
});

describe("the kernel", () => {
  it("is what its source compiles to", async () => {
    const path = "./compile-kernel.mjs"; // its compiler is no package of the project: see package.json here
    const {compiledKernel}: {compiledKernel: () => Promise<string>} = await import(path);
    const held = readFileSync(new URL("../../lib/log/row-kernel-bytes.ts", import.meta.url), "utf8");
    assert.equal(held, await compiledKernel());
  });
});
