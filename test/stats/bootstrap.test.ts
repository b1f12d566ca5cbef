import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {
  bootstrapDifference,
  bootstrapSample,
  MEAN,
  MEDIAN,
  type Statistic,
} from "../../lib/stats/bootstrap.ts";
import {
  type BootstrapDistribution,
  completeDistribution,
  distributionQuantile,
  drawnDistribution,
  sharesAt,
} from "../../lib/stats/bootstrap-distribution.ts";
import {
  type BootstrapInterval,
  bcaInterval,
  biasCorrection,
  percentileInterval,
  studentisedInterval,
} from "../../lib/stats/bootstrap-interval.ts";
import {jackknifeAcceleration} from "../../lib/stats/jackknife.ts";
import {quantileOfSorted} from "../../lib/stats/quantile.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {countMultisets, forEachMultiset} from "../../lib/stats/resamples.ts";
import {welchDifference} from "../../lib/stats/two-sample.ts";
import {assertClose} from "../assert-close.ts";
import {assertShareWithin, reference} from "./reference.ts";

const {row, data} = reference("bootstrap");
const random = createRandom(1, "bootstrap");

/** The slow reference: all nⁿ resamples one by one, without weights. */
function everyResample(values: readonly number[], visit: (sample: number[]) => void): void {
  const n = values.length;
  for (let code = 0; code < n ** n; code++) {
    visit(Array.from({length: n}, (_, i) => values[Math.floor(code / n ** i) % n]));
  }
}

function complete(values: readonly number[], statistic: Statistic<number>): BootstrapDistribution {
  const found: number[] = [];
  everyResample(values, sample => found.push(statistic.value(sample)));
  return completeDistribution(Float64Array.from(found), new Float64Array(found.length).fill(1));
}

describe("resamples", () => {
  it("number C(2n − 1, n)", () => {
    // 462 at n = 6 and 1352078 at n = 12: A7-aircond-mean, A7-mouse-treat-mean (1716 at 7)
    assert.deepEqual(
      [1, 2, 3, 6, 7, 12].map(n => countMultisets(n)),
      [1, 3, 10, 462, 1716, 1352078],
    );
    assert.equal(countMultisets(2000), Number.POSITIVE_INFINITY);
  });

  it("carry the probabilities of all n^n draws", () => {
    for (const n of [1, 2, 3, 4, 5]) {
      const weights = new Map<string, number>();
      forEachMultiset(n, (counts, weight) => weights.set(counts.join(), weight));
      assert.equal(weights.size, countMultisets(n));
      const counted = new Map<string, number>();
      everyResample(
        Array.from({length: n}, (_, i) => i),
        sample => {
          const counts = new Array<number>(n).fill(0);
          for (const i of sample) counts[i]++;
          counted.set(counts.join(), (counted.get(counts.join()) ?? 0) + 1);
        },
      );
      for (const [counts, times] of counted) assertClose(weights.get(counts)!, times / n ** n, 1e-15, counts);
    }
  });
});

interface Tiny {
  resamples: number;
  values: number[];
  counts: number[];
  mean: number;
  se: number;
  count_below: number;
  count_equal: number;
  acceleration: number;
  z0_ties_half: number;
  z0_strict: number;
  [quantile: `quantile_${string}`]: number;
}

describe("complete bootstrap of tiny samples", () => {
  // A7-tiny-*: own enumeration of all n^n resamples outside this project; tolerance of the rows 1e-9.
  const three = [1, 4, 6];
  const four = [1.2, 2.5, 3.1, 7.0];
  const sets: [string, number[], Statistic<number>][] = [
    ["A7-tiny-n3-mean", three, MEAN],
    ["A7-tiny-n3-median", three, MEDIAN],
    ["A7-tiny-n4-mean", four, MEAN],
    ["A7-tiny-n4-median", four, MEDIAN],
  ];
  for (const [id, values, statistic] of sets) {
    it(`matches ${id}`, () => {
      const {expected} = row<Tiny>(id);
      const distribution = complete(values, statistic);
      assert.equal(distribution.values.length, expected.values.length);
      let sum = 0;
      expected.values.forEach((value, i) => {
        sum += expected.counts[i];
        assertClose(distribution.values[i], value, 1e-9);
        assertClose(distribution.cumulative![i], sum / expected.resamples, 1e-12);
      });
      const estimate = statistic.value(values);
      assertClose(jackknifeAcceleration([{values, sign: 1}], statistic), expected.acceleration, 1e-9);
      const {below, at} = sharesAt(distribution, estimate);
      assertClose(below, expected.count_below / expected.resamples, 1e-12);
      assertClose(at, expected.count_equal / expected.resamples, 1e-12);
      assertClose(biasCorrection(distribution, estimate, "half")!, expected.z0_ties_half, 1e-9);
      assertClose(biasCorrection(distribution, estimate, "strict")!, expected.z0_strict, 1e-9);
      for (const p of [0.05, 0.1, 0.9, 0.95]) {
        const {value} = distributionQuantile(distribution, p);
        assertClose(value, expected[`quantile_inverse_cdf_${p}`], 1e-9, `quantile ${p}`);
      }
      const listed: number[] = [];
      expected.values.forEach((value, i) => {
        for (let k = 0; k < expected.counts[i]; k++) listed.push(value);
      });
      assertClose(quantileOfSorted(listed, 0.05), expected["quantile_linear_type7_0.05"], 1e-9);
      assertClose(quantileOfSorted(listed, 0.95), expected["quantile_linear_type7_0.95"], 1e-9);
      // and the function itself, which lists multisets
      const found = bootstrapSample(values, {statistic, method: "percentile", level: 0.9, random});
      assert.equal(found.complete, true);
      assertClose(found.standardError, expected.se, 1e-9);
      assertClose(found.interval!.low, expected["quantile_inverse_cdf_0.05"], 1e-9);
      assertClose(found.interval!.high, expected["quantile_inverse_cdf_0.95"], 1e-9);
    });
  }

  it("matches the studentised distribution of four values, the four constant resamples dropped", () => {
    const {expected} = row<{studentised_ci90: number[]}>("A7-tiny-n4-student");
    const found = bootstrapSample(four, {statistic: MEAN, level: 0.9, random});
    assertClose(found.interval!.low, expected.studentised_ci90[0], 1e-9);
    assertClose(found.interval!.high, expected.studentised_ci90[1], 1e-9);
    assertClose(found.droppedShare, 4 / 256, 1e-12);
    assert.equal(found.nResamples, 35);
  });
});

interface Ideal {
  estimate: number;
  distinct_values: number;
  se: number;
  percentile_ci90: number[];
  percentile_ci95: number[];
  bca_z0_ties_half_ci90: {limits: number[]};
  bca_z0_ties_half_ci95: {limits: number[]};
  bca_z0_strict_ci90: {limits: number[]};
  bca_z0_strict_ci95: {limits: number[]};
}

function assertLimits(
  found: BootstrapInterval | null,
  [low, high]: number[],
  bound: number,
  what: string,
): void {
  assert.ok(found, `${what}: there is an interval`);
  assertClose(found.low, low, bound, `${what} low`);
  assertClose(found.high, high, bound, `${what} high`);
}

describe("complete bootstrap of published data", () => {
  // A7-mouse-*, A7-aircond-mean: Efron and Tibshirani (1993) and Davison and Hinkley (1997) data; limits by complete
  // enumeration outside this project, row tolerance 1e-6.
  const {treatment, control} = data<{treatment: number[]; control: number[]}>("efron.mouse");
  const {hours} = data<{hours: number[]}>("boot.aircondit");
  const sets: [string, number[], Statistic<number>][] = [
    ["A7-mouse-treat-mean", treatment, MEAN],
    ["A7-mouse-treat-median", treatment, MEDIAN],
    ["A7-mouse-ctrl-mean", control, MEAN],
  ];
  for (const [id, values, statistic] of sets) {
    it(`matches ${id}`, () => {
      const {expected} = row<Ideal>(id);
      for (const [level, name] of [
        [0.9, "90"],
        [0.95, "95"],
      ] as const) {
        const common = {statistic, level, random};
        const percentile = bootstrapSample(values, {...common, method: "percentile"});
        assertClose(percentile.estimate, expected.estimate, 1e-9);
        assertClose(percentile.standardError, expected.se, 1e-6);
        assert.equal(percentile.nResamples, expected.distinct_values);
        assertLimits(percentile.interval, expected[`percentile_ci${name}`], 1e-6, `${id} percentile`);
        for (const ties of ["half", "strict"] as const) {
          const limits = expected[`bca_z0_${ties === "half" ? "ties_half" : "strict"}_ci${name}`].limits;
          const bca = bootstrapSample(values, {...common, method: "bca", ties});
          assertLimits(bca.interval, limits, 1e-6, `${id} BCa ${ties}`);
        }
      }
    });
  }

  it("matches A7-aircond-mean over its 1.35 million resamples, and by draws within four hours", () => {
    const {expected} = row<Ideal>("A7-aircond-mean");
    const listed = bootstrapSample(hours, {
      statistic: MEAN,
      method: "bca",
      level: 0.9,
      random,
      maxListed: 2e6,
    });
    assert.equal(listed.nResamples, expected.distinct_values);
    assertClose(listed.standardError, expected.se, 1e-6);
    assertLimits(listed.interval, expected.bca_z0_ties_half_ci90.limits, 1e-6, "aircond BCa");
    const drawn = bootstrapSample(hours, {statistic: MEAN, method: "bca", level: 0.9, random});
    assert.equal(drawn.complete, false);
    assertLimits(drawn.interval, expected.bca_z0_ties_half_ci90.limits, 4, "aircond BCa by draws");
  });

  it("matches A7-mouse-diff, listed and by draws", () => {
    const {expected} = row<
      Record<string, number[]> & {
        se: number;
        acceleration_multi_sample: number;
        classical_se_separate_variances: number;
      }
    >("A7-mouse-diff");
    const arms = [
      {values: control, sign: -1},
      {values: treatment, sign: 1},
    ] as const;
    assertClose(jackknifeAcceleration(arms, MEAN), expected.acceleration_multi_sample, 1e-9);
    const difference = (level: number, method: "percentile" | "bca", maxListed?: number) =>
      bootstrapDifference(control, treatment, {statistic: MEAN, level, method, random, maxListed});
    for (const method of ["percentile", "bca"] as const) {
      for (const level of [0.9, 0.95]) {
        const limits = expected[`${method}_ci${level * 100}`];
        const listed = difference(level, method, 1e6);
        assertLimits(listed.interval, limits, 1e-6, `${method} ${level}`);
        assertClose(listed.standardError, expected.se, 1e-6);
        assert.equal(listed.complete, true);
        const drawn = difference(level, method);
        assert.equal(drawn.complete, false);
        assertLimits(drawn.interval, limits, 2.5, `${method} ${level} by draws`); // the row's Monte Carlo tolerance
      }
    }
    // the textbook's standard error of the difference, 28.93
    const {standardError} = welchDifference(control, treatment);
    assertClose(standardError!, expected.classical_se_separate_variances, 1e-9);
  });

  it("draws whole rows for a correlation, as in the law school data", () => {
    const {lsat, gpa} = data<{lsat: number[]; gpa: number[]}>("efron.law");
    const students = lsat.map((score, i) => [score, gpa[i]] as const);
    const correlation: Statistic<readonly [number, number]> = {
      value: sample => {
        const x = sample.map(([score]) => score);
        const y = sample.map(([, grade]) => grade);
        const [mx, my] = [MEAN.value(x), MEAN.value(y)];
        const sum = (f: (i: number) => number): number => x.reduce((total, _, i) => total + f(i), 0);
        const sxy = sum(i => (x[i] - mx) * (y[i] - my));
        return sxy / Math.sqrt(sum(i => (x[i] - mx) ** 2) * sum(i => (y[i] - my) ** 2));
      },
    };
    const basics = row<{r: number; acceleration_about_jackknife_mean: number}>("A7-law-basics").expected;
    const ideal = row<{se: number; bca_ci90: number[]; quantiles: Record<string, number>}>(
      "A7-law-ideal",
    ).expected;
    const acceleration = jackknifeAcceleration([{values: students, sign: 1}], correlation);
    assertClose(acceleration, basics.acceleration_about_jackknife_mean, {rel: 1e-10});
    const common = {statistic: correlation, level: 0.9, random, nResamples: 10_000};
    const percentile = bootstrapSample(students, {...common, method: "percentile"});
    assertClose(percentile.estimate, basics.r, 1e-10);
    // Monte Carlo bounds of the row: se to 0.9/√B, inner quantiles 0.01
    assertClose(percentile.standardError, ideal.se, {rel: (4 * 0.9) / 100});
    assertLimits(
      percentile.interval,
      [ideal.quantiles["0.05"], ideal.quantiles["0.95"]],
      0.01,
      "law percentile",
    );
    // the BCa lower level is 1.8 %, where the row allows 0.03
    const bca = bootstrapSample(students, {...common, method: "bca"});
    assertLimits(bca.interval, ideal.bca_ci90, 0.03, "law BCa");
    assert.throws(() => bootstrapSample(students, {...common, method: "studentised"}), {
      name: "RangeError",
      message: /no standard error, so it cannot be studentised/,
    });
  });
});

describe("intervals from given replicates", () => {
  // A7-bootci-fixed: R 4.2.2, boot 1.3-28.1, boot.ci on hand-made replicates; row tolerance 1e-10
  const fixed = data<{t: number[]; var_t: number[]; t0: number; var_t0: number; influence: number[]}>(
    "fixed.replicates39",
  );
  const {ci90} = row<{ci90: Record<string, number[]>}>("A7-bootci-fixed").expected;
  const distribution = drawnDistribution(fixed.t);

  it("match the percentile and the studentised limits", () => {
    assertLimits(percentileInterval(distribution, {level: 0.9}), ci90.percentile, 1e-9, "percentile");
    const t = drawnDistribution(fixed.t.map((value, i) => (value - fixed.t0) / Math.sqrt(fixed.var_t[i])));
    const options = {estimate: fixed.t0, standardError: Math.sqrt(fixed.var_t0), level: 0.9};
    assertLimits(studentisedInterval(t, options), ci90.studentised, 1e-9, "studentised");
  });

  it("match the BCa limits, and say that one lies beyond the outermost replicate", () => {
    const cubes = fixed.influence.reduce((sum, l) => sum + l ** 3, 0);
    const squares = fixed.influence.reduce((sum, l) => sum + l ** 2, 0);
    const acceleration = cubes / (6 * squares ** 1.5);
    const found = bcaInterval(distribution, {estimate: fixed.t0, acceleration, level: 0.9, ties: "strict"});
    assertLimits(found, ci90.bca, 1e-9, "BCa");
    assert.equal(found!.clamped, true);
    assert.equal(percentileInterval(distribution, {level: 0.9})!.clamped, false);
    assert.equal(percentileInterval(distribution, {level: 0.99})!.clamped, true);
  });
});

describe("bootstrapSample and bootstrapDifference", () => {
  it("list the studentised difference as the slow n^n way does", () => {
    const a = [9.62, 9.7, 9.51];
    const b = [9.48, 9.55, 9.9];
    const t: number[] = [];
    const {estimate, standardError} = welchDifference(a, b);
    let dropped = 0;
    everyResample(a, first => {
      everyResample(b, second => {
        const se = Math.hypot(MEAN.standardError!(first), MEAN.standardError!(second));
        if (se === 0) dropped++;
        else t.push((MEAN.value(second) - MEAN.value(first) - estimate) / se);
      });
    });
    const slow = completeDistribution(Float64Array.from(t), new Float64Array(t.length).fill(1));
    const found = bootstrapDifference(a, b, {statistic: MEAN, random});
    assert.equal(found.nResamples, 100);
    assertClose(found.droppedShare, dropped / 27 ** 2, 1e-12);
    const expected = studentisedInterval(slow, {estimate, standardError: standardError!});
    assertLimits(found.interval, [expected!.low, expected!.high], 1e-9, "difference");
  });

  it("draw to the same answer as they list, within the error of the draws", () => {
    const a = [9.62, 9.7, 9.51, 9.58, 9.66];
    const b = [9.48, 9.55, 9.6, 9.41, 9.52];
    const listed = bootstrapDifference(a, b, {statistic: MEAN, level: 0.9, random});
    const drawn = bootstrapDifference(a, b, {
      statistic: MEAN,
      level: 0.9,
      random,
      maxListed: 0,
      nResamples: 40_000,
    });
    assert.deepEqual([listed.complete, drawn.complete], [true, false]);
    assertClose(drawn.droppedShare, listed.droppedShare, 0.001);
    const width = listed.interval!.high - listed.interval!.low;
    // quantile error √(0.05·0.95/40000) = 0.0011 in p; over the density there about 0.02 of the width, four times
    assertLimits(drawn.interval, [listed.interval!.low, listed.interval!.high], 0.04 * width, "draws");
  });

  it("find no interval in values without spread", () => {
    const still = [5.1, 5.1, 5.1];
    for (const method of ["studentised", "percentile", "bca"] as const) {
      const found = bootstrapDifference(still, [4.9, 4.9], {statistic: MEAN, method, random});
      assert.equal(found.interval, null, method);
      assertClose(found.estimate, -0.2, 1e-12);
    }
    const half = bootstrapDifference(still, [4.9, 5.0, 5.2], {statistic: MEAN, random});
    assert.ok(
      half.interval && half.droppedShare > 0.1,
      "one arm with spread suffices, its constant resamples are dropped",
    );
  });

  it("repeat with the same seed and change with another", () => {
    const values = Array.from({length: 15}, (_, i) => Math.sin(i));
    const limits = (seed: number) =>
      bootstrapSample(values, {statistic: MEAN, random: createRandom(seed, "bootstrap"), nResamples: 999})
        .interval;
    assert.deepEqual(limits(1), limits(1));
    assert.notDeepEqual(limits(1), limits(2));
  });

  it("refuse fewer than two values and values that are not finite", () => {
    assert.throws(() => bootstrapSample([1], {statistic: MEAN, random}), {
      name: "RangeError",
      message: /at least 2 values/,
    });
    assert.throws(() => bootstrapDifference([1, 2], [1, Number.NaN], {statistic: MEAN, random}), {
      message: /values\[1\] is NaN/,
    });
    assert.throws(() => bootstrapSample([1, 2], {statistic: MEAN, random, nResamples: 0}), {
      message: /nResamples/,
    });
    assert.throws(() => bootstrapSample([1, 2, 4], {statistic: MEAN, random, level: 1}), {message: /level/});
  });

  it("studentised covers 94 to 98 % at four against five, the percentile interval far less", () => {
    // 94–98 % and 82–87 % were measured beforehand for normal values; seed fixed.
    const source = createRandom(1, "coverage bootstrap");
    const n = 600;
    let studentised = 0;
    let percentile = 0;
    for (let i = 0; i < n; i++) {
      const a = Array.from({length: 4}, () => source.normal());
      const b = Array.from({length: 5}, () => 1 + source.normal());
      const covers = (method: "studentised" | "percentile"): number => {
        const {interval} = bootstrapDifference(a, b, {statistic: MEAN, method, random});
        return interval!.low <= 1 && 1 <= interval!.high ? 1 : 0;
      };
      studentised += covers("studentised");
      percentile += covers("percentile");
    }
    assertShareWithin(studentised, n, 0.94, 0.98);
    assertShareWithin(percentile, n, 0.82, 0.87);
  });
});
