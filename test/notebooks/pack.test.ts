import assert from "node:assert/strict";
import {readFileSync} from "node:fs";
import {dirname, join} from "node:path";
import {describe, it} from "vitest";
import {executeNotebook, type NotebookRun} from "../../lib/dist/kernel/execute.js";
import {readNotebook} from "../../lib/notebook/read.ts";
import {listTemplates} from "../../lib/templates/store.ts";
import {requireBuild} from "../repo/built.ts";
import {ROOT} from "../repo/tracked-files.ts";

/** Numbers of each notebook's texts that are expected, by the words around them; `band-time` has a test of its own. */
const EXPECTED: Record<string, Record<string, string>> = JSON.parse(
  readFileSync(join(ROOT, "test", "notebooks", "expected.json"), "utf8"),
);

const texts = (run: NotebookRun) =>
  run.cells
    .flatMap(cell =>
      cell.outputs.map(output => ("data" in output ? String(output.data["text/markdown"] ?? "") : "")),
    )
    .join("\n");

describe("every notebook of the pack", () => {
  const names = listTemplates(join(ROOT, "notebooks")).map(({name}) => name);

  it("has its expected numbers", () => {
    assert.deepEqual(Object.keys(EXPECTED).sort(), names.filter(name => name !== "band-time").sort());
  });

  for (const name of Object.keys(EXPECTED)) {
    it(`${name} runs from a fresh kernel, without a word on stderr, to its expected numbers`, {
      timeout: 120_000,
    }, async () => {
      requireBuild();
      const file = join(ROOT, "notebooks", name, "notebook.ipynb");
      const run = await executeNotebook(await readNotebook(file), {folder: dirname(file)});
      assert.equal(run.failed, null);
      const printed = run.cells.flatMap(cell =>
        cell.outputs.filter(output => output.output_type === "stream"),
      );
      assert.deepEqual(printed, []);
      const text = texts(run);
      assert.doesNotMatch(text, /NaN|undefined|Infinity|null/);
      for (const [what, pattern] of Object.entries(EXPECTED[name]))
        assert.match(text, new RegExp(pattern), what);
    });
  }
});
