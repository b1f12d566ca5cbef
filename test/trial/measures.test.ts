import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {holm} from "../../lib/stats/adjusted-p.ts";
import {maxTTest} from "../../lib/stats/max-t.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {compareMeasures, type MeasureRuns} from "../../lib/trial/measures.ts";
import {drawDeal, listDeals} from "../../lib/trial/plan.ts";
import {labelsOf, toPlan, toRuns} from "./made-runs.ts";

const ORDER = labelsOf("ABBABAABBA");
const OPTIONS = {level: 0.95, seed: 1};

function measuresOf(labels: ArrayLike<number>, effects: readonly number[], name: string): MeasureRuns[] {
  const random = createRandom(5, name);
  return effects.map((effect, m) => ({
    name: `measure ${m + 1}`,
    runs: toRuns(
      labels,
      Float64Array.from(labels, label => 10 + effect * label + random.normal()),
    ),
  }));
}

describe("compareMeasures", () => {
  it("adjusts by the largest |t| over the re-deals, step-down, where there are 100", () => {
    const measures = measuresOf(ORDER, [3, 0, 1], "three");
    const {measures: found, method} = compareMeasures(measures, {...OPTIONS, plan: toPlan("complete")});
    assert.equal(method, "largest |t| over all 252 re-deals, step-down");
    const direct = maxTTest(
      measures.map(({runs}) => ({values: runs.map(run => run.value!)})),
      Int8Array.from(ORDER),
      listDeals("complete", 10),
    );
    found.forEach((measure, m) => {
      assert.equal(measure.adjustedP, direct.measures[m].pStepDown);
      assert.equal(measure.p, direct.measures[m].p);
      assert.ok(measure.adjustedP >= measure.p);
    });
  });

  it("falls back to t and Holm below 100 re-deals, and says so", () => {
    const measures = measuresOf(labelsOf("ABBABAAB"), [3, 0, 1], "holm");
    const {measures: found, method} = compareMeasures(measures, {...OPTIONS, plan: toPlan("abba")});
    assert.match(method, /Holm's method \(4 re-deals are fewer than 100\)/);
    const adjusted = holm(found.map(measure => measure.p));
    found.forEach((measure, m) => {
      assert.equal(measure.adjustedP, adjusted[m]);
    });
  });

  it("takes measures with missing runs, and leaves out those without an interval", () => {
    const measures = measuresOf(ORDER, [0, 0], "missing");
    const some = measures[0].runs.map((run, i) => (i === 3 ? {...run, value: null} : run));
    const few = measures[1].runs.map((run, i) => (i > 3 ? {...run, value: null} : run));
    const result = compareMeasures(
      [
        {name: "some", runs: some},
        {name: "few", runs: few},
        {name: "still", runs: toRuns(ORDER, new Array(10).fill(7))},
      ],
      {...OPTIONS, plan: toPlan("complete")},
    );
    assert.deepEqual(
      result.measures.map(({name}) => name),
      ["some"],
    );
    assert.deepEqual(
      result.left.map(({name}) => name),
      ["few", "still"],
    );
    assert.deepEqual(compareMeasures([], {...OPTIONS, plan: null}).measures, []);
  });

  it("calls any of five measures shown without an effect on at most 5 % of days", () => {
    // 400 days, complete order of 10 and, with Holm, two ABBA blocks: binomial standard error 1.1 %.
    const DAYS = 400;
    for (const [order, n] of [
      ["complete", 8],
      ["abba", 8],
    ] as const) {
      const random = createRandom(3, `family ${order}`);
      let shown = 0;
      for (let day = 0; day < DAYS; day++) {
        const labels = drawDeal(order, n, random);
        const shared = Float64Array.from(labels, () => random.normal());
        const measures = [0, 1, 2, 3, 4].map(m => ({
          name: String(m),
          runs: toRuns(
            labels,
            shared.map(value => value + random.normal()),
          ),
        }));
        const {measures: found} = compareMeasures(measures, {...OPTIONS, plan: toPlan(order)});
        if (found.some(({adjustedP}) => adjustedP < 0.05)) shown++;
      }
      assert.ok(shown / DAYS <= 0.05 + 4 * Math.sqrt((0.05 * 0.95) / DAYS), `${order}: ${shown} of ${DAYS}`);
    }
  });
});
