import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {type CurveBand, curveBand} from "../../lib/stats/curve-band.ts";
import {pairFlips, splits} from "../../lib/stats/deals.ts";
import {coefficientInterval, leastSquares} from "../../lib/stats/least-squares.ts";
import {maxTTest} from "../../lib/stats/max-t.ts";
import {createRandom, type Random} from "../../lib/stats/random.ts";
import {assertClose} from "../assert-close.ts";

const PLACES = 30;
/** Correlation from one place to the next of an exponential covariance: five places long. */
const NEXT = Math.exp(-1 / 5);

/** A smooth normal curve of spread 1. */
function curve(random: Random, places = PLACES): Float64Array {
  const values = new Float64Array(places);
  let value = random.normal();
  for (let k = 0; k < places; k++) {
    values[k] = value;
    value = NEXT * value + Math.sqrt(1 - NEXT * NEXT) * random.normal();
  }
  return values;
}

const holds = ({estimate, standardError, factor}: CurveBand, truth: (k: number) => number) =>
  estimate.every((value, k) => Math.abs(value - truth(k)) <= factor * standardError[k]);

describe("curveBand", () => {
  const random = createRandom(8, "curves");
  const labels = [1, 0, 0, 1, 1, 0, 1, 0, 0, 1];
  const curves = labels.map(() => curve(random, 7));
  const drift = {name: "drift", values: labels.map((_, i) => i)};

  it("is least squares at each place", () => {
    const band = curveBand({curves, labels, terms: [drift]}, {deals: splits(10, 5)})!;
    for (let k = 0; k < 7; k++) {
      const fit = leastSquares(
        curves.map(values => values[k]),
        [{name: "mean", values: labels.map(() => 1)}, drift, {name: "arm", values: labels}],
      );
      assertClose(band.estimate[k], fit.coefficients[2], 1e-12);
      assertClose(band.standardError[k], fit.standardErrors![2], 1e-12);
      assert.equal(band.df, fit.df);
      assert.ok(coefficientInterval(fit, "arm"));
    }
  });

  it("agrees with the step-by-step test of several measures over the same deals", () => {
    for (const terms of [[], [drift]]) {
      const band = curveBand({curves, labels, terms}, {deals: splits(10, 5)})!;
      const measures = Array.from({length: 7}, (_, k) => ({values: curves.map(values => values[k]), terms}));
      const slow = maxTTest(measures, labels, splits(10, 5));
      assert.equal(band.count, slow.deals);
      slow.measures.forEach(({pSingleStep}, k) => {
        assertClose(band.adjustedP[k], pSingleStep, 1e-12, `place ${k}`);
      });
      // on curves without their difference the factor is that test's critical value
      const rest = curves.map((values, i) => values.map((value, k) => value - band.estimate[k] * labels[i]));
      const still = Array.from({length: 7}, (_, k) => ({values: rest.map(values => values[k]), terms}));
      assertClose(band.factor, maxTTest(still, labels, splits(10, 5)).critical, 1e-9);
    }
  });

  it("agrees with it for few runs and for many, whose sums are put together from one, two and three parts", () => {
    for (const n of [6, 8, 12, 14]) {
      const dealt = Array.from({length: n}, (_, i) => Number(i % 4 === 1 || i % 4 === 2));
      const some = dealt.map(() => curve(random, 5));
      const ones = dealt.reduce((sum, label) => sum + label, 0);
      const band = curveBand({curves: some, labels: dealt}, {deals: splits(n, ones)})!;
      const measures = Array.from({length: 5}, (_, k) => ({
        values: some.map(values => values[k]),
        terms: [],
      }));
      const slow = maxTTest(measures, dealt, splits(n, ones));
      slow.measures.forEach(({pSingleStep}, k) => {
        assertClose(band.adjustedP[k], pSingleStep, 1e-12, `${n} runs, place ${k}`);
      });
    }
  });

  it("keeps places of dropped runs, and pairs", () => {
    const six = [0, 1, 1, 0, 0, 1];
    const pairs = [1, 2].map(pair => ({
      name: `pair ${pair}`,
      values: six.map((_, i) => (i >> 1 === pair ? 1 : 0)),
    }));
    const set = {curves: curves.slice(0, 6), labels: six, terms: pairs};
    const band = curveBand(set, {deals: pairFlips(3)})!;
    assert.equal(band.count, 8);
    assert.equal(Math.min(...band.adjustedP) * 8, Math.round(Math.min(...band.adjustedP) * 8));
    const kept = [0, 1, 3, 4, 5];
    const dropped = {curves: kept.map(i => curves[i]), labels: kept.map(i => six[i]), places: kept};
    assert.equal(curveBand(dropped, {deals: splits(6, 3)})!.count, 20);
  });

  it("refuses what does not fit, and answers nothing where nothing is left", () => {
    assert.equal(curveBand({curves: curves.slice(0, 3), labels: [0, 1, 0]}, {random}), null);
    const bad = (set: object, message: RegExp) =>
      assert.throws(() => curveBand({curves, labels, ...set}, {deals: [labels]}), {
        name: "RangeError",
        message,
      });
    bad({labels: [1, 0]}, /labels and curves/);
    bad({terms: [{name: "arm again", values: labels}]}, /cannot be told from the other terms/);
    bad({curves: [...curves.slice(1), [1, 2, Number.NaN, 4, 5, 6, 7]]}, /curves/);
    assert.throws(
      () => curveBand({curves, labels}, {deals: [[...labels].reverse(), labels.map(value => 1 - value)]}),
      /not among the deals/,
    );
  });

  it("takes a place at which all runs agree for no difference, and the rest as without it", () => {
    const flat = curves.map(values => Float64Array.from([3, ...values]));
    const band = curveBand({curves: flat, labels}, {deals: splits(10, 5)})!;
    const without = curveBand({curves, labels}, {deals: splits(10, 5)})!;
    assert.deepEqual([band.estimate[0], band.standardError[0], band.adjustedP[0]], [0, 0, 1]);
    assertClose(band.factor, without.factor, 1e-12);
  });

  it("covers a whole true curve, and calls differences where there are none, as often as it says", () => {
    // 400 days of 5 + 5 runs: binomial standard error 1.1 %, bounds 3.5 of them from 95 and 5 %
    const chance = createRandom(31, "coverage");
    const all = [...splits(10, 5)];
    const truth = (k: number) => Math.sin(k / 4);
    const counts = {deals: 0, draws: 0, alarms: 0};
    for (let day = 0; day < 400; day++) {
      const dealt = all[chance.integer(all.length)];
      const noise = all[0].length;
      const own = Array.from({length: noise}, () => curve(chance));
      const moved = own.map((values, i) => values.map((value, k) => value + dealt[i] * truth(k)));
      if (holds(curveBand({curves: moved, labels: dealt}, {deals: all})!, truth)) counts.deals++;
      const drawn = curveBand({curves: moved, labels: dealt}, {random: chance, nDraws: 199})!;
      if (holds(drawn, truth)) counts.draws++;
      if (curveBand({curves: own, labels: dealt}, {deals: all})!.adjustedP.some(p => p <= 0.05))
        counts.alarms++;
    }
    assert.ok(counts.deals >= 365 && counts.deals <= 396, JSON.stringify(counts));
    assert.ok(counts.draws >= 365 && counts.draws <= 396, JSON.stringify(counts));
    assert.ok(counts.alarms >= 4 && counts.alarms <= 35, JSON.stringify(counts));
  });
});
