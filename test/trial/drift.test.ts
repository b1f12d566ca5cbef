import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {createRandom} from "../../lib/stats/random.ts";
import {driftOf} from "../../lib/trial/drift.ts";
import {assertClose} from "../assert-close.ts";
import {labelsOf, toRuns} from "./made-runs.ts";

const LEVEL = {level: 0.95};

describe("driftOf", () => {
  it("is exact on a straight line, with the part and the direction beside it", () => {
    // By hand: 6 + 0.02 a run − 0.3 with the part + 0.1 on the way back
    const labels = labelsOf("ABBABAAB");
    const back = [0, 0, 1, 1, 0, 1, 0, 1];
    const runs = toRuns(
      labels,
      labels.map((label, i) => 6 + 0.02 * i - 0.3 * label + 0.1 * back[i]),
      i => ({direction: back[i] ? "back" : "out"}),
    );
    const found = driftOf(runs, LEVEL)!;
    assertClose(found.perRun, 0.02, 1e-12);
    assertClose(found.changeoverBias, 0.08, 1e-12);
    runs[3] = {...runs[3], value: null};
    assertClose(driftOf(runs, LEVEL)!.perRun, 0.02, 1e-12);
    assert.equal(driftOf(runs, LEVEL)!.runs, 7);
  });

  it("covers the true drift as often as it says", () => {
    // 1,000 days of 8 runs: three binomial standard errors of 0.7 % about 95 %
    const random = createRandom(21, "drift");
    const labels = labelsOf("ABBABAAB");
    let held = 0;
    for (let day = 0; day < 1_000; day++) {
      const values = labels.map((label, i) => 6 + 0.02 * i - 0.1 * label + 0.05 * random.normal());
      const {low, high} = driftOf(toRuns(labels, values), LEVEL)!.interval!;
      if (low <= 0.02 && 0.02 <= high) held++;
    }
    assert.ok(held >= 929 && held <= 971, `${held} of 1,000`);
  });

  it("answers nothing where the runs cannot tell", () => {
    assert.equal(driftOf(toRuns(labelsOf("ABB"), [1, 2, 3]), LEVEL), null);
    assert.equal(driftOf(toRuns(labelsOf("AB"), [1, 2]), LEVEL), null);
    assert.equal(driftOf([], LEVEL), null);
  });
});
