import assert from "node:assert/strict";
import {execFileSync} from "node:child_process";
import {mkdtempSync, readFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {dirname, join} from "node:path";
import {beforeAll, describe, it} from "vitest";
import {executeNotebook, type NotebookRun} from "../../lib/dist/kernel/execute.js";
import {readNotebook} from "../../lib/notebook/read.ts";
import type {JudgeDocument} from "../../lib/result/documents.ts";
import {requireBuild} from "../repo/built.ts";
import {ROOT} from "../repo/tracked-files.ts";
import {requireTool} from "../require.ts";
import {stockKernelEnvironment} from "./stock-kernel.ts";

const FILE = join(ROOT, "notebooks", "band-time", "notebook.ipynb");
const RESULT = "application/vnd.fairpull.result+json";

/** Numbers of the demo as printed, rounded to what the page shows. */
const EXPECTED = JSON.parse(readFileSync(join(ROOT, "test", "notebooks", "band-time.json"), "utf8"));

describe("notebooks/band-time", () => {
  let run: NotebookRun;
  beforeAll(async () => {
    requireBuild();
    run = await executeNotebook(await readNotebook(FILE), {folder: dirname(FILE)});
  });

  it("runs from top to bottom without an error or a word on stderr", () => {
    assert.equal(run.failed, null);
    const printed = run.cells.flatMap(cell => cell.outputs.filter(output => output.output_type === "stream"));
    assert.deepEqual(printed, []);
  });

  it("names every file that it read, session and logs", () => {
    const files = run.inputs.map(input => input.file);
    assert.equal(files.length, 14); // session, truth, a log a run
    assert.ok(files.includes("../../data-demo/intake-elbow/session.yaml"), files.join());
  });

  it("ends in the verdict, with the numbers that are expected", () => {
    const last = run.cells.at(-1)!.outputs.at(-1)! as {data: Record<string, unknown>};
    const result = last.data[RESULT] as JudgeDocument;
    const round = (value: number | null | undefined) => (value == null ? null : Number(value.toFixed(3)));
    assert.deepEqual(
      {
        state: result.verdict.state,
        size: result.verdict.size,
        estimate: round(result.effect.estimate),
        low: round(result.effect.interval?.low),
        high: round(result.effect.interval?.high),
        p: round(result.permutation?.p),
        deals: result.permutation?.deals,
      },
      EXPECTED,
    );
  });

  it("holds the demo's truth in its interval, and says so", () => {
    const texts = run.cells.flatMap(cell =>
      cell.outputs.map(output => ("data" in output ? String(output.data["text/markdown"] ?? "") : "")),
    );
    const truth = JSON.parse(readFileSync(join(ROOT, "data-demo", "intake-elbow", "truth.json"), "utf8"));
    const printed = truth.effect.value.toFixed(3).replace("-", "−");
    assert.ok(
      texts.some(text => text.includes(printed) && text.includes("holds it")),
      texts.join("\n"),
    );
  });

  const jupyter = requireTool("jupyter");
  it.skipIf(!jupyter.path)(`runs on the unmodified tslab kernel${jupyter.title}`, {timeout: 120_000}, () => {
    const out = mkdtempSync(join(tmpdir(), "stock-"));
    execFileSync(
      jupyter.path!,
      ["--execute", "--to", "notebook", "--output-dir", out, "--output", "run.ipynb", FILE],
      {
        env: stockKernelEnvironment(),
        stdio: "pipe",
      },
    );
    const text = readFileSync(join(out, "run.ipynb"), "utf8");
    assert.match(text, /Shown better/);
    assert.doesNotMatch(text, /"stderr"|"output_type": "error"/);
  });
});
