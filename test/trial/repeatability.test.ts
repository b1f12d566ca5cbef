import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {createRandom} from "../../lib/stats/random.ts";
import {reachOfPlans, repeatabilityOf} from "../../lib/trial/repeatability.ts";
import {assertClose} from "../assert-close.ts";

const runsOf = (values: readonly number[]) => values.map((value, i) => ({run: i + 1, value, timeS: null}));
const LEVEL = {level: 0.95};

describe("repeatabilityOf", () => {
  it("gives the spread with its interval, and the limit of two runs", () => {
    // By hand: 2, 4, 4, 4, 5, 5, 7, 9 have mean 5 and sum of squares 32, so sd √(32/7). χ²(0.975, 7) = 16.0128 and
    // χ²(0.025, 7) = 1.68987 (any table of χ²).
    const found = repeatabilityOf(runsOf([2, 4, 4, 4, 5, 5, 7, 9]), LEVEL);
    assertClose(found.sd!, Math.sqrt(32 / 7), 1e-12);
    assertClose(found.sdInterval!.low, Math.sqrt(32 / 16.0128), 1e-4);
    assertClose(found.sdInterval!.high, Math.sqrt(32 / 1.68987), 1e-4);
    assertClose(found.limit!, 2.8 * Math.sqrt(32 / 7), 1e-12);
    // the values rise by 0.810 a run: Σ place·value = 34, Σ place² = 42
    assertClose(found.drift!.perRun, 34 / 42, 1e-12);
  });

  it("covers the true spread and the true drift as often as it says", () => {
    // 1,000 days of 8 runs: binomial standard error 0.7 %, bounds three of them about 95 %
    const random = createRandom(9, "repeat");
    const hit = {spread: 0, drift: 0};
    for (let day = 0; day < 1_000; day++) {
      const still = repeatabilityOf(runsOf(Array.from({length: 8}, () => 6 + 0.05 * random.normal())), LEVEL);
      if (still.sdInterval!.low <= 0.05 && 0.05 <= still.sdInterval!.high) hit.spread++;
      const moving = repeatabilityOf(
        runsOf(Array.from({length: 8}, (_, i) => 6 + 0.02 * i + 0.05 * random.normal())),
        LEVEL,
      );
      if (moving.drift!.interval!.low <= 0.02 && 0.02 <= moving.drift!.interval!.high) hit.drift++;
    }
    assert.ok(hit.spread >= 929 && hit.spread <= 971, JSON.stringify(hit));
    assert.ok(hit.drift >= 929 && hit.drift <= 971, JSON.stringify(hit));
  });

  it("says what plans can show: more runs show less, and a drift costs only the order that does not take it out", () => {
    const random = createRandom(10, "reach");
    const noise = Array.from({length: 12}, () => 0.05 * random.normal());
    const still = reachOfPlans(repeatabilityOf(runsOf(noise.map(value => 6 + value)), LEVEL), LEVEL);
    const of = (reach: typeof still, order: string, runs: number) =>
      reach.find(row => row.order === order && row.runs === runs)!.smallest;
    assert.ok(of(still, "drift-balanced", 16) < of(still, "drift-balanced", 12));
    assert.ok(of(still, "drift-balanced", 12) < of(still, "drift-balanced", 8));
    const drifting = repeatabilityOf(runsOf(noise.map((value, i) => 6 + value + 0.1 * i)), LEVEL);
    const moving = reachOfPlans(drifting, LEVEL);
    assertClose(of(moving, "drift-balanced", 12), of(still, "drift-balanced", 12), 1e-9);
    assert.ok(of(moving, "complete", 6) > 2 * of(still, "complete", 6));
  });

  it("answers what few or equal runs can answer", () => {
    const one = repeatabilityOf(runsOf([5]), LEVEL);
    assert.deepEqual([one.n, one.sd, one.limit, one.drift], [1, null, null, null]);
    assert.deepEqual(reachOfPlans(one, LEVEL), []);
    const equal = repeatabilityOf(runsOf([5, 5, 5, 5, 5]), LEVEL);
    assert.deepEqual([equal.sd, equal.sdInterval, equal.drift], [0, null, null]);
    const three = repeatabilityOf(runsOf([5, 6, 7]), LEVEL);
    assert.deepEqual([three.drift, three.sdAboutDrift], [null, null]);
    assert.throws(() => repeatabilityOf([], LEVEL), {name: "RangeError", message: /at least one run/});
    assert.throws(() => repeatabilityOf(runsOf([1, Number.NaN]), LEVEL), {name: "RangeError"});
  });
});
