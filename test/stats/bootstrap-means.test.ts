import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {bootstrapSample, MEAN, type Statistic} from "../../lib/stats/bootstrap.ts";
import {drawMeans} from "../../lib/stats/bootstrap-means.ts";
import {type Arm, draw, type Replicates} from "../../lib/stats/bootstrap-replicates.ts";
import {jackknifeAcceleration} from "../../lib/stats/jackknife.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {assertClose} from "../assert-close.ts";
import {assertShare, reference} from "./reference.ts";

const {row, data} = reference("bootstrap-more");

/** Largest distance between the shares of two samples of n up to any value; rounding must not part what is equal. */
function distance(a: Float64Array, b: Float64Array): number {
  const rounded = (values: Float64Array): Float64Array => values.map(value => Math.round(value * 1e7)).sort();
  const [x, y] = [rounded(a), rounded(b)];
  let worst = 0;
  for (let i = 0, j = 0; i < x.length && j < y.length; ) {
    const value = Math.min(x[i], y[j]);
    while (x[i] === value) i++;
    while (y[j] === value) j++;
    worst = Math.max(worst, Math.abs(i - j) / x.length);
  }
  return worst;
}

describe("drawMeans", () => {
  const measure = (sample: readonly number[]) => ({
    value: MEAN.value(sample),
    variance: MEAN.standardError!(sample) ** 2,
  });

  it("draws from the distribution that the slow way draws from, whatever the length of the tuples", () => {
    // Kolmogorov and Smirnov: two samples of one distribution differ by more than 2.2·√(2/n) once in 8,000 times.
    const n = 40_000;
    const source = createRandom(1, "data of means");
    for (const [first, second] of [
      [2, 3],
      [8, 5],
      [11, 20],
      [100, 7],
    ]) {
      const arms: Arm<number>[] = [
        {values: Array.from({length: first}, () => 1000 + source.normal()), sign: -1},
        {values: Array.from({length: second}, () => 1001 + source.normal() ** 3), sign: 1},
      ];
      const fast = drawMeans(arms, n, createRandom(1, "fast"));
      const alone = drawMeans(arms, n, createRandom(1, "fast"), {spread: false});
      assert.deepEqual(alone.values, fast.values, "means alone, by the same draws");
      const slow = draw(arms, measure, n, createRandom(1, "slow"));
      const t = ({values, variances}: Replicates): Float64Array =>
        values.map((value, i) => (variances[i] > 0 ? (value - 1) / Math.sqrt(variances[i]) : 99));
      const bound = 2.2 * Math.sqrt(2 / n);
      assert.ok(distance(fast.values, slow.values) < bound, `means of ${first} and ${second}`);
      assert.ok(distance(fast.variances, slow.variances) < bound, `variances of ${first} and ${second}`);
      assert.ok(distance(t(fast), t(slow)) < bound, `t of ${first} and ${second}`);
    }
  });

  it("draws each resample of three values as often as it should, and sees which have no spread", () => {
    const values = [0, 1, 10]; // all ten multisets have means of their own
    const n = 90_000;
    const {values: means, variances} = drawMeans([{values, sign: 1}], n, createRandom(1, "multisets"));
    const counts = new Map<number, number>();
    for (const mean of means) {
      const sum = Math.round(3 * mean);
      counts.set(sum, (counts.get(sum) ?? 0) + 1);
    }
    for (const [sum, ways] of [
      [0, 1],
      [1, 3],
      [2, 3],
      [3, 1],
      [10, 3],
      [11, 6],
      [12, 3],
      [20, 3],
      [21, 3],
      [30, 1],
    ]) {
      assertShare(counts.get(sum)!, n, ways / 27);
    }
    assertShare(variances.filter(variance => variance === 0).length, n, 3 / 27);
  });
});

describe("bootstrap of a transformed mean and of a variance", () => {
  interface LogMean {
    estimate: number;
    distinct_values: number;
    se: number;
    acceleration: number;
    percentile_ci90: [number, number];
    percentile_ci95: [number, number];
    bca_z0_ties_half_ci90: {limits: [number, number]};
    bca_z0_strict_ci95: {limits: [number, number]};
  }

  it("matches A7-aircond-logmean over its 1.35 million resamples", () => {
    // own enumeration outside this project; the row asks 1e-9, its limits carry twelve decimals
    const {expected} = row<LogMean>("A7-aircond-logmean");
    const {hours} = data<{hours: number[]}>("boot.aircondit");
    const statistic: Statistic<number> = {value: sample => Math.log(MEAN.value(sample))};
    assertClose(jackknifeAcceleration([{values: hours, sign: 1}], statistic), expected.acceleration, 1e-9);
    const random = createRandom(1, "unused");
    for (const [method, ties, level, limits] of [
      ["percentile", "half", 0.9, expected.percentile_ci90],
      ["percentile", "half", 0.95, expected.percentile_ci95],
      ["bca", "half", 0.9, expected.bca_z0_ties_half_ci90.limits],
      ["bca", "strict", 0.95, expected.bca_z0_strict_ci95.limits],
    ] as const) {
      const found = bootstrapSample(hours, {statistic, method, ties, level, random, maxListed: 2e6});
      assert.deepEqual([found.complete, found.nResamples], [true, expected.distinct_values]);
      assertClose(found.estimate, expected.estimate, 1e-12);
      assertClose(found.standardError, expected.se, 1e-9);
      assertClose(found.interval!.low, limits[0], 1e-9, `${method} ${level} low`);
      assertClose(found.interval!.high, limits[1], 1e-9, `${method} ${level} high`);
    }
  }, 120_000); // 4 s of one core; a busy machine needs many times that

  it("matches A7-spatial-var within the error of 10,000 draws", () => {
    // Efron and Tibshirani 1993, ch. 14; limits by 4 million draws outside this project, 5 allowed for 10,000
    const {expected} = row<Record<string, number> & Record<string, [number, number]>>("A7-spatial-var");
    const {A} = data<{A: number[]}>("efron.spatial");
    const statistic: Statistic<number> = {
      value: sample => {
        const centre = MEAN.value(sample);
        return sample.reduce((sum, x) => sum + (x - centre) ** 2, 0) / sample.length;
      },
    };
    assertClose(jackknifeAcceleration([{values: A, sign: 1}], statistic), expected.acceleration, {rel: 1e-8});
    const options = {statistic, level: 0.9, nResamples: 10_000};
    for (const method of ["percentile", "bca"] as const) {
      const found = bootstrapSample(A, {...options, method, random: createRandom(1, "spatial")});
      assertClose(found.estimate, expected.estimate, {rel: 1e-8});
      assertClose(found.standardError, expected.bootstrap_se_B4e6, {rel: 0.04}); // 4·0.9/√10⁴
      const limits = expected[`${method}_ci90_B4e6`] as [number, number];
      assertClose(found.interval!.low, limits[0], 5, `${method} low`);
      assertClose(found.interval!.high, limits[1], 5, `${method} high`);
    }
  });
});
