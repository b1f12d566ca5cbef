import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {limitsOfAgreement, repeatability} from "../../lib/stats/agreement.ts";
import {hodgesLehmannCentre, hodgesLehmannShift} from "../../lib/stats/hodges-lehmann.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {concordantPairs, mannWhitney, rankCut, signedRank} from "../../lib/stats/rank-distribution.ts";
import {savitzkyGolayWeights} from "../../lib/stats/savitzky-golay.ts";
import {theilSen} from "../../lib/stats/theil-sen.ts";
import {assertClose} from "../assert-close.ts";
import {assertShare, assertShareWithin, reference} from "./reference.ts";

const {row, data} = reference("agreement");
const pefr = data<Record<"wright_1" | "wright_2" | "mini_1" | "mini_2", number[]>>("bland_altman.pefr");

describe("limitsOfAgreement", () => {
  it("meets A11-bland-altman", () => {
    // Bland & Altman 1986; the row takes Wright − mini, ours is second − first; quantiles by jStat, 1e-7
    const {expected} = row<{
      bias: number;
      sd: number;
      limits_2sd: number[];
      "limits_1.96sd": number[];
      se_bias: number;
      ci95_bias: number[];
      se_limit_sqrt3s2n: number;
      ci95_lower_limit: number[];
      ci95_upper_limit: number[];
    }>("A11-bland-altman");
    const found = limitsOfAgreement(pefr.mini_1, pefr.wright_1, {multiplier: 2});
    assertClose(found.bias, expected.bias, {rel: 1e-10});
    assertClose(found.sd, expected.sd, {rel: 1e-10});
    assertClose(found.biasStandardError, expected.se_bias, {rel: 1e-10});
    assertClose(found.limitStandardError, expected.se_limit_sqrt3s2n, {rel: 1e-10});
    const pairs: [{low: number; high: number} | null, number[]][] = [
      [found.limits, expected.limits_2sd],
      [found.biasInterval, expected.ci95_bias],
      [found.lowInterval, expected.ci95_lower_limit],
      [found.highInterval, expected.ci95_upper_limit],
    ];
    for (const [interval, [low, high]] of pairs) {
      assertClose(interval!.low, low, 1e-7 * (high - low));
      assertClose(interval!.high, high, 1e-7 * (high - low));
    }
    // The row's 1.96 is the two-decimal one.
    const usual = limitsOfAgreement(pefr.mini_1, pefr.wright_1, {multiplier: 1.96});
    assertClose(usual.limits.low, expected["limits_1.96sd"][0], {rel: 1e-10});
    assertClose(usual.limits.high, expected["limits_1.96sd"][1], {rel: 1e-10});
  });

  it("covers bias and limits near 95 % with 20 pairs", () => {
    const random = createRandom(1, "coverage agreement");
    const n = 1500;
    let bias = 0;
    let high = 0;
    for (let day = 0; day < n; day++) {
      const first = Array.from({length: 20}, () => 10 * random.normal());
      const second = first.map(value => value + 1 + random.normal());
      const found = limitsOfAgreement(first, second);
      if (found.biasInterval!.low <= 1 && 1 <= found.biasInterval!.high) bias++;
      const limit = 1 + 1.959963984540054;
      if (found.highInterval!.low <= limit && limit <= found.highInterval!.high) high++;
    }
    assertShare(bias, n, 0.95);
    assertShareWithin(high, n, 0.92, 0.97); // the standard error of a limit is a rough one
  });

  it("holds no interval where all differences are alike", () => {
    const found = limitsOfAgreement([1, 2, 3], [2, 3, 4]);
    assert.deepEqual([found.biasInterval, found.lowInterval, found.limits], [null, null, {low: 1, high: 1}]);
    assert.throws(() => limitsOfAgreement([1, 2], [1]), {name: "RangeError", message: /2 meets 1/});
  });
});

describe("repeatability", () => {
  it("meets A11-repeatability", () => {
    type Instrument = {rms_diff: number; coefficient_2sd: number; within_sd: number};
    const {expected, tolerance} = row<{wright: Instrument; mini: Instrument}>("A11-repeatability");
    for (const [found, e] of [
      [repeatability(pefr.wright_1, pefr.wright_2), expected.wright],
      [repeatability(pefr.mini_1, pefr.mini_2), expected.mini],
    ] as const) {
      assertClose(found.rmsDifference, e.rms_diff, {rel: tolerance.rel});
      assertClose(found.coefficient, e.coefficient_2sd, {rel: tolerance.rel});
      assertClose(found.withinSd, e.within_sd, {rel: tolerance.rel});
    }
  });
});

describe("theilSen", () => {
  it("meets Sen's worked example", () => {
    const {expected, tolerance} = row<{
      slope: number;
      pairwise_slopes: number;
      intercept_median_residual: number;
      ci93: number[];
    }>("A11-theil-sen");
    const rel = {rel: tolerance.rel};
    const x = [1, 2, 3, 4, 10, 12, 18];
    const y = [9, 15, 19, 20, 45, 55, 78];
    const found = theilSen(x, y)!;
    assertClose(found.slope.estimate, expected.slope, rel);
    assert.equal(found.pairs, expected.pairwise_slopes);
    assertClose(found.intercept, expected.intercept_median_residual, rel);
    assertClose(found.slope.interval!.low, expected.ci93[0], rel);
    assertClose(found.slope.interval!.high, expected.ci93[1], rel);
    // Sen calls these limits a 93 % interval. By the exact count they hold 97 %: they fail only for |S| ≥ 15, which are
    // 2·(1 + 6 + 20 + 49) of the 5040 orders of 7 (the first Mahonian numbers). Our 93 % interval is one slope narrower.
    assertClose(found.slope.interval!.level, 1 - 152 / 5040, 1e-12);
    const narrower = theilSen(x, y, {level: 0.93})!.slope.interval!;
    assertClose(narrower.level, 1 - (152 + 2 * 98) / 5040, 1e-12);
    assert.ok(narrower.low > expected.ci93[0] && narrower.high < expected.ci93[1]);
  });

  it("covers with equal x too, whatever the noise", () => {
    const random = createRandom(1, "coverage theil-sen");
    const x = [0, 0, 1, 1, 1, 2, 3, 3];
    const n = 2000;
    let covered = 0;
    let level = 0;
    for (let day = 0; day < n; day++) {
      const y = x.map(value => 2 * value + random.normal() ** 3);
      const {interval} = theilSen(x, y)!.slope;
      level = interval!.level;
      if (interval!.low <= 2 && 2 <= interval!.high) covered++;
    }
    assert.ok(level >= 0.95);
    assertShare(covered, n, level);
  });

  it("has no answer for one place, no interval for few points", () => {
    assert.equal(theilSen([1, 1], [2, 3]), null);
    assert.equal(theilSen([1, 2, 3], [2, 3, 5])!.slope.interval, null);
    assert.throws(() => theilSen([1, 2], [1]), {name: "RangeError", message: /2 meets 1/});
  });
});

describe("rank distributions", () => {
  it("count every arrangement", () => {
    // By hand over all orders: brute force against the recursions.
    const labels = (m: number, n: number): number[][] =>
      m === 0 && n === 0
        ? [[]]
        : [
            ...(m > 0 ? labels(m - 1, n).map(rest => [0, ...rest]) : []),
            ...(n > 0 ? labels(m, n - 1).map(rest => [1, ...rest]) : []),
          ];
    const all = labels(3, 4);
    const counts = new Float64Array(13);
    for (const order of all) {
      let u = 0;
      order.forEach((label, i) => {
        for (let j = i + 1; j < 7; j++) if (label === 1 && order[j] === 0) u++;
      });
      counts[u] += 1 / all.length;
    }
    mannWhitney(3, 4).probabilities!.forEach((p, u) => {
      assertClose(p, counts[u], 1e-14, `U = ${u}`);
    });
    // Orders of 4 by inversions 1, 3, 5, 6, 5, 3, 1; signs of ranks 1 2 3: sums 0 1 2 3 3 4 5 6.
    assert.deepEqual(
      Array.from(concordantPairs([1, 1, 1, 1]).probabilities!, p => Math.round(24 * p)),
      [1, 3, 5, 6, 5, 3, 1],
    );
    assert.deepEqual(
      Array.from(signedRank(3).probabilities!, p => 8 * p),
      [1, 1, 1, 2, 1, 1, 1],
    );
  });

  it("have the variance they state, and go over into the normal distribution", () => {
    for (const {most, probabilities, variance} of [
      mannWhitney(6, 9),
      signedRank(11),
      concordantPairs([2, 1, 3, 1, 4]),
    ]) {
      let second = 0;
      let sum = 0;
      probabilities!.forEach((p, k) => {
        sum += p;
        second += p * (k - most / 2) ** 2;
      });
      assertClose(sum, 1, 1e-12);
      assertClose(second, variance, {rel: 1e-12});
    }
    const listed = mannWhitney(80, 80);
    const exact = rankCut(listed, 0.95)!;
    const normal = rankCut({...listed, probabilities: null}, 0.95)!;
    assert.ok(Math.abs(exact.cut - normal.cut) <= 2, `${exact.cut} and ${normal.cut} of 6400`);
    assert.equal(mannWhitney(100, 100).probabilities, null);
    assert.equal(concordantPairs(new Array<number>(200).fill(1)).probabilities, null);
    assert.equal(signedRank(400).probabilities, null);
  });
});

describe("Hodges and Lehmann's estimates", () => {
  it("take medians of differences and of means", () => {
    // By hand: differences 1 2 4 −1 0 2 of {1, 3} and {2, 3, 5}, median 1.5; means 1 2 2.5 3 3.5 4 of {1, 3, 4}, median 2.75.
    assert.equal(hodgesLehmannShift([1, 3], [2, 3, 5]).estimate, 1.5);
    assert.equal(hodgesLehmannCentre([1, 3, 4]).estimate, 2.75);
    assert.equal(hodgesLehmannShift([1, 3], [2, 3, 5]).interval, null);
    // 4 against 4: U = 0 has probability 1/70, so all 16 differences make 1 − 2/70.
    const widest = hodgesLehmannShift([1, 2, 3, 4], [1.1, 2.1, 3.1, 4.1]).interval!;
    assertClose(widest.level, 1 - 2 / 70, 1e-14);
    assertClose(widest.low, -2.9, 1e-14);
    assertClose(widest.high, 3.1, 1e-14);
  });

  it("stay put when one value runs away", () => {
    const a = [5, 6, 7, 8, 9];
    const b = [6, 7, 8, 9, 10];
    const wild = [6, 7, 8, 9, 1e9];
    assert.equal(hodgesLehmannShift(a, b).estimate, 1);
    assert.ok(Math.abs(hodgesLehmannShift(a, wild).estimate - 1) <= 1);
  });

  it("cover their level with skewed and heavy-tailed noise", () => {
    const random = createRandom(1, "coverage hodges-lehmann");
    const n = 2000;
    let shift = 0;
    let centre = 0;
    let levels = [0, 0];
    for (let day = 0; day < n; day++) {
      const a = Array.from({length: 5}, () => random.normal() ** 2);
      const b = Array.from({length: 7}, () => 1 + random.normal() ** 2);
      const d = Array.from({length: 8}, () => 1 + random.normal() / (0.1 + random.uniform()));
      const one = hodgesLehmannShift(a, b).interval!;
      const two = hodgesLehmannCentre(d).interval!;
      levels = [one.level, two.level];
      if (one.low <= 1 && 1 <= one.high) shift++;
      if (two.low <= 1 && 1 <= two.high) centre++;
    }
    assertShare(shift, n, levels[0]);
    assertShare(centre, n, levels[1]);
  });
});

describe("savitzkyGolayWeights", () => {
  it("meet A11-savgol", () => {
    interface Case {
      window: number;
      order: string;
      deriv: number;
      num: number[];
      den: number;
    }
    for (const {window, order, deriv, num, den} of row<Case>("A11-savgol").cases) {
      for (const k of order.split(" or ").map(Number)) {
        if (k < deriv) continue;
        const weights = savitzkyGolayWeights(window, k, {derivative: deriv});
        num.forEach((value, i) => {
          assertClose(weights[i], value / den, 1e-12, `window ${window} order ${k} deriv ${deriv}`);
        });
      }
    }
  });

  it("scale with the spacing", () => {
    // y = 3x² at spacing 0.5: second derivative 6
    const weights = savitzkyGolayWeights(5, 2, {derivative: 2, spacing: 0.5});
    assertClose(
      weights.reduce((sum, w, i) => sum + w * 3 * (0.5 * (i - 2)) ** 2, 0),
      6,
      1e-12,
    );
    assert.deepEqual([...savitzkyGolayWeights(1, 0)], [1]);
    assert.throws(() => savitzkyGolayWeights(4, 2), {name: "RangeError", message: /must be odd/});
    assert.throws(() => savitzkyGolayWeights(5, 5), {message: /does not hold/});
  });
});
