import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {pairFlips, splits} from "../../lib/stats/deals.ts";
import {maxTTest, simultaneousIntervals} from "../../lib/stats/max-t.ts";
import type {Term} from "../../lib/stats/qr.ts";
import {createRandom, type Random} from "../../lib/stats/random.ts";
import {pooledDifference} from "../../lib/stats/two-sample.ts";
import {assertClose} from "../assert-close.ts";
import {assertShare, assertShareWithin, reference} from "./reference.ts";

const {row, data} = reference("multiple");

/** Pairs (0, d) with a term for each pair but one, so that deals flip signs of differences. */
function asPairs(differences: readonly number[]): {values: number[]; terms: Term[]} {
  const values = differences.flatMap(d => [0, d]);
  const terms = differences.slice(1).map((_, pair) => ({
    name: `pair ${pair + 2}`,
    values: values.map((_, i) => (i >> 1 === pair + 1 ? 1 : 0)),
  }));
  return {values, terms};
}

describe("maxTTest", () => {
  it("meets A12-westfall-young over all sign flips", () => {
    // own enumeration outside this project; row tolerance 1e-9
    const {expected, tolerance} = row<{
      t: number[];
      p_raw: number[];
      p_max_t: number[];
      flips: number;
      max_t_95_quantile_inverse_cdf: number;
      band95: [number, number][];
    }>("A12-westfall-young");
    const {diffs} = data<{diffs: number[][]}>("own.bands7x3");
    const measures = [0, 1, 2].map(band => asPairs(diffs.map(pair => pair[band])));
    const observed = measures[0].values.map((_, i) => i % 2);
    const found = maxTTest(measures, observed, pairFlips(7));
    assert.deepEqual([found.deals, found.floor], [expected.flips, 2 / 128]);
    const rel = {rel: tolerance.rel};
    assertClose(found.critical, expected.max_t_95_quantile_inverse_cdf, rel);
    found.measures.forEach(({estimate, standardError, t, p, pSingleStep, pStepDown}, j) => {
      assertClose(t, expected.t[j], rel);
      assert.equal(p, expected.p_raw[j]);
      assert.equal(pSingleStep, expected.p_max_t[j]);
      assert.ok(p <= pStepDown && pStepDown <= pSingleStep);
      // the row's band is estimate ± the quantile over flips of the raw differences
      assertClose(estimate - found.critical * standardError, expected.band95[j][0], 1e-9);
      assertClose(estimate + found.critical * standardError, expected.band95[j][1], 1e-9);
    });
    assert.equal(found.measures[2].pStepDown, found.measures[2].p, "the last step stands alone");
  });

  it("has the t of two samples, whatever the number of other measures", () => {
    const a = [5.1, 4.8, 5.5, 5.0];
    const b = [5.9, 5.2, 6.1, 5.6];
    const t = pooledDifference(a, b);
    const observed = [0, 0, 0, 0, 1, 1, 1, 1];
    const one = {values: [...a, ...b]};
    const found = maxTTest([one, {values: [1, 2, 3, 4, 8, 5, 6, 7]}], observed, splits(8, 4)).measures[0];
    assertClose(found.estimate, t.estimate, 1e-12);
    assertClose(found.standardError, t.standardError!, 1e-12);
    assertClose(found.t, t.estimate / t.standardError!, 1e-10);
    const twice = maxTTest([one, one], observed, splits(8, 4)).measures[0];
    assert.equal(twice.pSingleStep, twice.p, "a measure given twice costs nothing");
  });

  it("keeps the chance of any false alarm with correlated measures, also when one effect is real", () => {
    const random = createRandom(1, "false alarms max-t");
    const deals = [...splits(8, 4)];
    const n = 1500;
    let none = 0;
    let beside = 0;
    let single = 0;
    for (let day = 0; day < n; day++) {
      const observed = deals[random.integer(deals.length)];
      const measures = correlated(random, observed, [0, 0, 0]);
      if (maxTTest(measures, observed, deals).measures.some(m => m.pStepDown <= 0.05)) none++;
      const real = correlated(random, observed, [9, 0, 0]);
      const found = maxTTest(real, observed, deals).measures.slice(1);
      if (found.some(m => m.pStepDown <= 0.05)) beside++;
      if (found.some(m => m.pSingleStep <= 0.05)) single++;
    }
    // ⌊0.05·70/2⌋ = 1 group of two: exactly 2/70
    assertShare(none, n, 2 / 70);
    assertShareWithin(beside, n, 0, 2 / 70);
    assert.ok(single <= beside);
  });

  it("keeps numbers finite for values without spread, and refuses what leaves no spread to estimate", () => {
    const alike = {values: new Array<number>(6).fill(3)};
    const exact = {values: [0, 1, 0, 1, 0, 1]};
    const observed = [0, 1, 0, 1, 0, 1];
    const found = maxTTest([alike, exact], observed, splits(6, 3));
    assert.deepEqual([found.measures[0].p, found.measures[0].standardError], [1, 0]);
    assert.equal(found.measures[1].p, 2 / 20);
    for (const {t} of found.measures) assert.ok(Number.isFinite(t));
    assert.equal(simultaneousIntervals([alike, exact], observed, splits(6, 3), {level: 0.8}), null);
    assert.throws(() => maxTTest([], observed, splits(6, 3)), {name: "RangeError", message: /one measure/});
    assert.throws(() => maxTTest([{values: [1, 2]}], [0, 1], splits(2, 1)), {
      message: /no degree of freedom/,
    });
    assert.throws(() => maxTTest([{values: [1, 2, 3, 4]}], [0, 0, 1, 1], pairFlips(2)), {
      message: /not among the deals/,
    });
  });
});

function correlated(random: Random, observed: ArrayLike<number>, effects: readonly number[]) {
  const shared = Array.from(observed, () => random.normal());
  return effects.map(effect => ({
    values: shared.map((value, i) => value + random.normal() + effect * observed[i]),
  }));
}

describe("simultaneousIntervals", () => {
  it("hold every set of effects that the test does not reject", () => {
    // The slow way: the test itself at points just outside the box, on each face and at corners.
    const random = createRandom(2, "inversion max-t");
    const deals = [...splits(8, 4)];
    for (let day = 0; day < 6; day++) {
      const observed = deals[random.integer(deals.length)];
      const measures = correlated(random, observed, [1, 0, -2]);
      const tested = maxTTest(measures, observed, deals).measures;
      const {factor, intervals} = simultaneousIntervals(measures, observed, deals, {level: 0.9})!;
      assertClose(intervals[1].high, tested[1].estimate + factor * tested[1].standardError, 1e-12);
      const p = (away: readonly number[]): number => {
        const effects = tested.map((m, k) => m.estimate + away[k] * m.standardError);
        const without = measures.map(({values}, k) => ({
          values: values.map((value, i) => value - effects[k] * observed[i]),
        }));
        return Math.min(...maxTTest(without, observed, deals).measures.map(m => m.pSingleStep));
      };
      for (let point = 0; point < 60; point++) {
        const away = [0, 1, 2].map(() => factor * (2 * random.uniform() - 1));
        away[point % 3] = factor * (point % 2 ? 1.000001 : -1.000001);
        if (point > 40) away[(point + 1) % 3] = away[point % 3];
        assert.ok(p(away) <= 0.1, `${away}`);
      }
      assert.ok(p([0, 0, 0]) > 0.9); // all but deals whose |t| is 0 up to rounding too
    }
  });

  it("hold together on at least the days they claim, with and without effects", () => {
    const random = createRandom(1, "coverage max-t");
    const deals = [...splits(10, 5)];
    const n = 500;
    for (const effects of [
      [0, 0, 0],
      [1, 0, -4],
    ]) {
      let covered = 0;
      let widths = 0;
      for (let day = 0; day < n; day++) {
        const observed = deals[random.integer(deals.length)];
        const {intervals, factor} = simultaneousIntervals(
          correlated(random, observed, effects),
          observed,
          deals,
        )!;
        assert.equal(intervals[0].level, 1 - 12 / 252);
        widths += factor / n;
        if (intervals.every(({low, high}, j) => low <= effects[j] && effects[j] <= high)) covered++;
      }
      // Bonferroni's t of 8 degrees of freedom is 3.02 standard errors
      assertClose(widths, 3.9, 0.1);
      assertShareWithin(covered, n, 0.95, 1);
    }
  });

  it("have no answer where the deals are too few", () => {
    const observed = [0, 1, 0, 1, 0, 1];
    assert.equal(simultaneousIntervals([{values: [1, 2, 4, 5, 6, 9]}], observed, splits(6, 3)), null);
    assert.throws(() => simultaneousIntervals([{values: [1, 2]}], [0, 1], splits(2, 1)), {
      name: "RangeError",
      message: /simultaneousIntervals: 2 observations leave no degree of freedom/,
    });
  });
});
