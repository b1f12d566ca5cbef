import {requireFraction, requireValues} from "./check.ts";
import {DEFAULT_LEVEL, type Interval} from "./interval.ts";
import {quantileOfSorted} from "./quantile.ts";
import {mannWhitney, type RankDistribution, rankCut, signedRank} from "./rank-distribution.ts";

/** An estimate by ranks. */
export interface RankEstimate {
  estimate: number;
  /** its `level` is the one reached, at least the one asked for; null where the values are too few to reach it */
  interval: Interval | null;
}

/**
 * Shift of the second sample against the first: the median of all differences b − a, with the interval of shifts that
 * the Mann–Whitney test does not reject.
 *
 * J. L. Hodges and E. L. Lehmann, Ann. Math. Statist. 34 (1963) 598. A few wild values move it little. The interval covers at least
 * its level when both samples have one shape; ties make it wider than needed.
 *
 * @param options level, default 0.95
 * @throws {RangeError} an empty sample, a value not finite, level not between 0 and 1
 */
export function hodgesLehmannShift(
  a: ArrayLike<number>,
  b: ArrayLike<number>,
  {level = DEFAULT_LEVEL}: {level?: number} = {},
): RankEstimate {
  requireValues("hodgesLehmannShift", a, "values of the first sample");
  requireValues("hodgesLehmannShift", b, "values of the second sample");
  requireFraction("hodgesLehmannShift", level, "level");
  const differences = new Float64Array(a.length * b.length);
  for (let i = 0, at = 0; i < a.length; i++) {
    for (let j = 0; j < b.length; j++) differences[at++] = b[j] - a[i];
  }
  return middle(differences, mannWhitney(a.length, b.length), {
    level,
    method: "Hodges–Lehmann, Mann–Whitney",
  });
}

/**
 * Centre of one symmetric sample, such as the differences of pairs: the median of the means of all pairs of values (each
 * with itself too), with the interval of centres that the signed-rank test does not reject (Hodges and Lehmann 1963).
 *
 * @param options level, default 0.95
 * @throws {RangeError} no values, one not finite, level not between 0 and 1
 */
export function hodgesLehmannCentre(
  values: ArrayLike<number>,
  {level = DEFAULT_LEVEL}: {level?: number} = {},
): RankEstimate {
  requireValues("hodgesLehmannCentre", values, "values");
  requireFraction("hodgesLehmannCentre", level, "level");
  const n = values.length;
  const means = new Float64Array((n * (n + 1)) / 2);
  for (let i = 0, at = 0; i < n; i++) for (let j = i; j < n; j++) means[at++] = (values[i] + values[j]) / 2;
  return middle(means, signedRank(n), {level, method: "Hodges–Lehmann, signed rank"});
}

/** Median and outer order statistics of the values that the rank statistic counts. */
export function middle(
  values: Float64Array,
  distribution: RankDistribution,
  {level, method}: {level: number; method: string},
): RankEstimate {
  values.sort();
  const estimate = quantileOfSorted(values, 0.5);
  const cut = rankCut(distribution, level);
  if (cut === null) return {estimate, interval: null};
  const interval = {
    low: values[cut.cut],
    high: values[values.length - 1 - cut.cut],
    level: cut.level,
    method,
  };
  return {estimate, interval};
}
