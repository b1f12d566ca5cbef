import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {coverageRow} from "../../lib/simulate/coverage.ts";
import {coverageCases} from "../../lib/simulate/coverage-cases.ts";
import {inThreads} from "../../lib/simulate/threads.ts";

describe("inThreads", () => {
  const options = {days: 20, seed: 3};
  it("gives in the order of the items what the job gives here, whatever the number of threads", async () => {
    const items = coverageCases()
      .slice(0, 5)
      .map(from => ({from, options}));
    const here = items.map(({from}) => coverageRow(from, options));
    const seen: number[] = [];
    assert.deepEqual(
      await inThreads("coverage", items, {threads: 2, onResult: (_, i) => seen.push(i)}),
      here,
    );
    assert.deepEqual(await inThreads("coverage", items, {threads: 1}), here);
    assert.deepEqual(seen.sort(), [0, 1, 2, 3, 4]);
    assert.deepEqual(await inThreads("coverage", []), []);
  });
  it("fails with the error of an item", async () => {
    const from = {...coverageCases()[0], runs: 7}; // no order of pairs deals an odd number
    await assert.rejects(inThreads("coverage", [{from, options}], {threads: 2}), /not 7/);
  });
});
