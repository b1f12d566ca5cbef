import assert from "node:assert/strict";
import {execFileSync} from "node:child_process";
import {mkdtempSync, rmSync} from "node:fs";
import {tmpdir} from "node:os";
import path from "node:path";
import {afterAll, describe, it} from "vitest";
import {executeNotebook} from "../../lib/dist/kernel/execute.js";
import {codeCells} from "../../lib/notebook/notebook.ts";
import {readNotebook} from "../../lib/notebook/read.ts";
import {kernelEnvironment, startFrontEnd} from "../kernel/front-end.ts";
import {stockKernelEnvironment} from "../notebooks/stock-kernel.ts";
import {ROOT} from "../repo/tracked-files.ts";
import {requireTool} from "../require.ts";

const tool = requireTool("jupyter");
const FILE = path.join(ROOT, "test", "fixtures", "kernel", "fifteen-cells.ipynb");
const FOLDER = path.dirname(FILE);
const ROUNDS = 5;

/** Limits of what is promised; the times are those of the machine, the ratios are not. */
const READY_RATIO = 1.2;
const FURTHER_CELL_S = 0.06;
const WHOLE_RATIO = 0.6;
const FURTHER_NOTEBOOK_RATIO = 0.35;

function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.floor(sorted.length / 2)]!;
}

const shown = (seconds: number) => `${seconds.toFixed(3)} s`;

function seconds(work: () => unknown): number {
  const start = performance.now();
  work();
  return (performance.now() - start) / 1000;
}

describe.skipIf(tool.path === null)(`the kernel beside the unmodified tslab kernel${tool.title}`, () => {
  const ours = kernelEnvironment();
  const stock = stockKernelEnvironment();
  const out = mkdtempSync(path.join(tmpdir(), "fairpull bench "));
  afterAll(() => {
    ours.remove();
    rmSync(out, {recursive: true});
    rmSync(stock["JUPYTER_DATA_DIR"]!, {recursive: true});
  });

  /** Ready, first cell, median of the further ones, all cells [s]. */
  async function session(env: NodeJS.ProcessEnv) {
    const kernel = await startFrontEnd(tool.path!, {env, cwd: FOLDER, kernel: "tslab"});
    const times: number[] = [];
    for (const {source} of codeCells(await readNotebook(FILE))) {
      const {at, done} = await kernel.execute(source);
      times.push(done - at);
    }
    await kernel.stop();
    const [first, ...further] = times;
    return {ready: kernel.ready, first: first!, further: median(further)};
  }

  it("is ready as soon, and runs a further cell in 60 ms", async () => {
    const both: [Awaited<ReturnType<typeof session>>, Awaited<ReturnType<typeof session>>][] = [];
    for (let round = 0; round < ROUNDS; round++) {
      if (round % 2) both.push([await session(ours.env), await session(stock)]);
      else {
        const theirs = await session(stock);
        both.push([await session(ours.env), theirs]);
      }
    }
    const medians = (which: 0 | 1) => {
      const of = (key: "ready" | "first" | "further") => median(both.map(pair => pair[which][key]));
      return {ready: of("ready"), first: of("first"), further: of("further")};
    };
    const [mine, theirs] = [medians(0), medians(1)];
    const ratio = median(both.map(([a, b]) => a.ready / b.ready));
    for (const key of ["ready", "first", "further"] as const)
      console.log(`${key}: fairpull ${shown(mine[key])}, stock ${shown(theirs[key])}`);
    console.log(`ready: median ratio ${ratio.toFixed(2)}`);
    assert.ok(ratio <= READY_RATIO, `ready after ${ratio.toFixed(2)} times the stock kernel's time`);
    assert.ok(mine.further <= FURTHER_CELL_S, `a further cell takes ${shown(mine.further)}`);
  });

  it("runs a notebook in 0.6 times, each further one in 0.35 times what nbconvert takes", async () => {
    const notebook = await readNotebook(FILE);
    const program = path.join(ROOT, "lib", "bin", "fairpull.mjs");
    const args = ["--execute", "--to", "html", "--output-dir", out, FILE];
    const ratios: {whole: number; further: number}[] = [];
    for (let round = 0; round < ROUNDS; round++) {
      const nbconvert = () => seconds(() => execFileSync(tool.path!, args, {env: stock, stdio: "pipe"}));
      const runner = () =>
        seconds(() => execFileSync(process.execPath, [program, "run", FILE], {stdio: "pipe"}));
      const [whole, theirs] = round % 2 ? [runner(), nbconvert()] : [nbconvert(), runner()].reverse();
      if (round === 0) await executeNotebook(notebook, {folder: FOLDER}); // the first of a pack
      const begun = performance.now();
      const run = await executeNotebook(notebook, {folder: FOLDER});
      const further = (performance.now() - begun) / 1000;
      assert.equal(run.failed, null);
      ratios.push({whole: whole! / theirs!, further: further / theirs!});
      console.log(
        `round ${round + 1}: nbconvert ${shown(theirs!)}, runner ${shown(whole!)}, a further notebook ${shown(further)}`,
      );
    }
    const whole = median(ratios.map(ratio => ratio.whole));
    const further = median(ratios.map(ratio => ratio.further));
    console.log(`median ratios: whole ${whole.toFixed(2)}, further ${further.toFixed(2)}`);
    assert.ok(whole <= WHOLE_RATIO, `the notebook takes ${whole.toFixed(2)} times as long`);
    assert.ok(
      further <= FURTHER_NOTEBOOK_RATIO,
      `a further notebook takes ${further.toFixed(2)} times as long`,
    );
  });
});
