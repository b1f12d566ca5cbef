import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {coverageRow, planInterval} from "../../lib/simulate/coverage.ts";
import {studentisedOfResiduals, taughtIntervals} from "../../lib/simulate/coverage-bootstrap.ts";
import {
  CASE_PLANS,
  CASE_POWER,
  type CoverageCase,
  coverageCases,
  planWords,
} from "../../lib/simulate/coverage-cases.ts";
import {type NumbersDay, numbersDays, numbersEffect, trialRuns} from "../../lib/simulate/coverage-days.ts";
import {bootstrapDifference, bootstrapSample, MEAN} from "../../lib/stats/bootstrap.ts";
import {bootstrapCoefficient} from "../../lib/stats/bootstrap-residuals.ts";
import {leastSquares} from "../../lib/stats/least-squares.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {estimateEffect} from "../../lib/trial/effect.ts";
import {assertClose} from "../assert-close.ts";

const SEED = 20;
const QUIET = {spread: 0.008, noise: "normal"} as const;

function oneDay(from: CoverageCase, seed = SEED): NumbersDay {
  return numbersDays(from, CASE_POWER, createRandom(seed, "one day"))();
}

describe("the cases", () => {
  it("are every plan, spread and noise once", () => {
    const cases = coverageCases();
    assert.equal(cases.length, 26 * 2 * 7);
    assert.equal(new Set(cases.map(from => JSON.stringify(from))).size, cases.length);
    assert.deepEqual([CASE_PLANS[0], CASE_PLANS[10], CASE_PLANS[19], CASE_PLANS[23]].map(planWords), [
      "3 + 3 unpaired",
      "4 pairs",
      "1 ABBA block",
      "8 runs drift-balanced",
    ]);
  });
});

describe("a day of numbers", () => {
  it("has the part's effect between the arms and nothing else, where nothing varies", () => {
    const {deal, values} = numbersDays(
      {order: "abba", runs: 8, spread: 0, noise: "normal"},
      CASE_POWER,
      createRandom(SEED, "still"),
    )();
    // By hand: time is inverse to power, −100 ln 1.02 = −1.980 %.
    assertClose(numbersEffect(CASE_POWER), -1.9802627, 1e-6); // half a unit of the last digit written
    values.forEach((value, i) => {
      assertClose(value, deal[i] === 1 ? numbersEffect(CASE_POWER) : 0, 1e-12); // rounding
    });
  });
});

describe("the fast interval of the plan", () => {
  it("is that of estimateEffect", () => {
    for (const from of coverageCases().filter(({order, runs}) => !(order === "abba" && runs === 4))) {
      const day = oneDay(from);
      const fit = leastSquares(day.values, day.terms);
      const fast = planInterval(day, fit, 0.95);
      const {order, runs} = from;
      const {interval} = estimateEffect(trialRuns(day.deal, order, day.values), {
        plan: {order, runs, seed: null, looks: 1, unit: "run", locked: null},
        level: 0.95,
      });
      assertClose(fast.low, interval!.low, 1e-9); // rounding of another order of sums
      assertClose(fast.high, interval!.high, 1e-9);
    }
  });
});

describe("the fast bootstrap", () => {
  // With 40,000 resamples either end of a 95 % interval moves by some 1 % of its distance from the estimate: √(p(1−p)/R)
  // over the density of t at the quantile, twice, four standard errors.
  const nResamples = 40_000;
  const RELATIVE = 0.04;
  it.each([
    {order: "complete", runs: 10},
    {order: "pairs", runs: 12},
    {order: "abba", runs: 8},
    {order: "drift-balanced", runs: 12},
  ] as const)("has the distribution of bootstrapCoefficient: $order of $runs runs", plan => {
    const day = oneDay({...plan, ...QUIET});
    const fit = leastSquares(day.values, day.terms);
    const options = {level: 0.95, nResamples};
    const fast = studentisedOfResiduals(fit, {...options, random: createRandom(SEED, "fast")}).interval!;
    const slow = bootstrapCoefficient(fit, "arm", {...options, random: createRandom(SEED, "slow")}).interval!;
    const width = slow.high - slow.low;
    assertClose(fast.low, slow.low, RELATIVE * width);
    assertClose(fast.high, slow.high, RELATIVE * width);
  });
  it("gives the percentile and BCa intervals of two arms and of pairs that stats gives", () => {
    for (const pairs of [false, true]) {
      const day = oneDay({order: pairs ? "pairs" : "complete", runs: 12, ...QUIET});
      const fit = leastSquares(day.values, day.terms);
      const fast = taughtIntervals(day, {
        fit,
        shifts: new Float64Array(nResamples),
        pairs,
        level: 0.95,
        random: createRandom(SEED, "fast"),
      });
      const arm = (label: number) => Array.from(day.values).filter((_, i) => day.deal[i] === label);
      const differences = Array.from({length: 6}, (_, k) => {
        const [a, b] = [day.values[2 * k], day.values[2 * k + 1]];
        return day.deal[2 * k] === 1 ? a - b : b - a;
      });
      for (const method of ["percentile", "bca"] as const) {
        const options = {statistic: MEAN, method, nResamples, random: createRandom(SEED, "slow")};
        const slow = pairs
          ? bootstrapSample(differences, options).interval!
          : bootstrapDifference(arm(0), arm(1), options).interval!;
        const width = slow.high - slow.low;
        assertClose(fast[method]!.low, slow.low, RELATIVE * width);
        assertClose(fast[method]!.high, slow.high, RELATIVE * width);
      }
    }
  });
});

describe("a row of the table of coverage", () => {
  const days = 600;
  const error = Math.sqrt((0.95 * 0.05) / days);
  it("finds what the plan's t interval promises under normal noise, and what percentile and BCa do not keep", () => {
    const row = coverageRow({order: "complete", runs: 8, ...QUIET}, {days, seed: SEED});
    assertClose(row.methods.t!.covered, 0.95, 4 * error); // Welch at 4 + 4 is a little above
    assert.ok(row.methods.percentile!.covered < 0.89, `${row.methods.percentile!.covered}`); // 84 %, beforehand
    assert.ok(row.methods.bca!.covered < 0.89, `${row.methods.bca!.covered}`);
    assertClose(row.methods.t!.false_alarms, 1 - row.methods.t!.covered, 1e-12); // the same days
    assert.equal(row.methods.randomisation!.days, days / 5);
  });
  it("finds that carry-over biases, with false alarms of its own", () => {
    const row = coverageRow(
      {order: "abba", runs: 16, spread: 0.008, noise: "carry-over"},
      {days, seed: SEED},
    );
    // By hand: of 2 % half stays behind in the first run after a change, which is about half of the changed runs.
    assert.ok(row.methods.t!.covered < 0.9, `${row.methods.t!.covered}`);
    assertClose(row.methods.t!.false_alarms, 0.05, 4 * error);
  });
  it("says too few runs where judge does", () => {
    const row = coverageRow({order: "abba", runs: 4, ...QUIET}, {days, seed: SEED});
    assert.match(row.too_few!, /2 usable runs, 3 are needed/);
    assert.ok(Object.values(row.methods).every(method => method === null));
  });
  it("is the same for the same seed", () => {
    const of = () => coverageRow({order: "pairs", runs: 12, ...QUIET}, {days: 20, seed: SEED});
    assert.deepEqual(of(), of());
  });
});
