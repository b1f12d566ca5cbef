import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {studentisedOfResiduals} from "../../lib/simulate/coverage-bootstrap.ts";
import {CASE_POWER, planWords} from "../../lib/simulate/coverage-cases.ts";
import {numbersDays, numbersEffect, trialRuns} from "../../lib/simulate/coverage-days.ts";
import {leastSquares} from "../../lib/stats/least-squares.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {welchDifference} from "../../lib/stats/two-sample.ts";
import {estimateEffect} from "../../lib/trial/effect.ts";
import {percent} from "./days.ts";

/** What the table does not decide: why unpaired runs are compared by Welch's t, and what to do about fittings that differ. */
const DAYS = 4000;
const SEED = 4711;

describe("arms of unequal spread and number, Welch's t against one spread for both", () => {
  it.each([
    {n: [3, 3], ratio: 1},
    {n: [3, 3], ratio: 2},
    {n: [3, 5], ratio: 2},
    {n: [4, 6], ratio: 2},
  ])("$n runs, the first arm with $ratio times the spread", ({n, ratio}) => {
    const random = createRandom(SEED, `unequal ${n} ${ratio}`);
    const arm = Float64Array.from({length: n[0] + n[1]}, (_, i) => (i < n[0] ? 0 : 1));
    const terms = [
      {name: "mean", values: arm.map(() => 1)},
      {name: "arm", values: arm},
    ];
    let [welch, studentised] = [0, 0];
    for (let day = 0; day < DAYS; day++) {
      const values = Float64Array.from(arm, label => (label === 0 ? ratio : 1) * random.normal());
      const own = welchDifference(values.subarray(0, n[0]), values.subarray(n[0])).interval!;
      const fit = leastSquares(values, terms);
      const other = studentisedOfResiduals(fit, {level: 0.95, nResamples: 199, random}).interval!;
      if (own.low <= 0 && own.high >= 0) welch++;
      if (other.low <= 0 && other.high >= 0) studentised++;
    }
    console.log(
      `${n.join(" + ")} runs, spread ${ratio} : 1: Welch covers ${percent(welch / DAYS, DAYS)}, studentised on residuals of one spread ${percent(studentised / DAYS, DAYS)}`,
    );
    assert.ok(welch > studentised || ratio === 1);
    assert.ok(welch / DAYS >= 0.925, `${welch / DAYS}`); // 3 + 5 with twice the spread in the smaller arm: 93.5 ± 0.4 %
  });
});

describe("fittings that differ by half the spread between runs", () => {
  it.each([
    {order: "complete", runs: 16},
    {order: "complete", runs: 24},
    {order: "pairs", runs: 16},
    {order: "abba", runs: 16},
    {order: "drift-balanced", runs: 16},
  ] as const)("are covered by the interval on the means of fittings: $order of $runs runs", plan => {
    const from = {...plan, spread: 0.008, noise: "fitting-effect"} as const;
    const next = numbersDays(from, CASE_POWER, createRandom(SEED, `fittings ${plan.order} ${plan.runs}`));
    const truth = numbersEffect(CASE_POWER);
    const found = {run: {answered: 0, covered: 0}, fitting: {answered: 0, covered: 0}};
    for (let day = 0; day < DAYS; day++) {
      const {deal, values} = next();
      const runs = trialRuns(deal, plan.order, values);
      for (const unit of ["run", "fitting"] as const) {
        const {interval} = estimateEffect(runs, {
          plan: {...plan, seed: null, looks: 1, unit, locked: null},
          level: 0.95,
        });
        if (!interval) continue;
        found[unit].answered++;
        if (interval.low <= truth && truth <= interval.high) found[unit].covered++;
      }
    }
    const words = (unit: "run" | "fitting") =>
      `by ${unit} ${percent(found[unit].covered / found[unit].answered, found[unit].answered)} of ${found[unit].answered} days with an interval`;
    console.log(`${planWords(plan)}: ${words("run")}, ${words("fitting")}`);
    assert.ok(found.fitting.covered >= 0.935 * found.fitting.answered, words("fitting"));
  });
});
