import {requireValues} from "./check.ts";

/** What a sample says of itself, in the unit of its values. */
export interface Summary {
  n: number;
  mean: number;
  /** sample standard deviation, divisor n − 1; null for n = 1 */
  sd: number | null;
  /** standard error of the mean, sd/√n; null for n = 1 */
  standardError: number | null;
}

/**
 * Mean, by a second pass over the deviations that takes out the rounding of the first sum.
 *
 * @throws {RangeError} no values, or one that is not finite
 */
export function mean(values: ArrayLike<number>): number {
  requireValues("mean", values, "values");
  return plainMean(values);
}

/**
 * Sample standard deviation with divisor n − 1, or null for one value.
 *
 * Two passes; the sum of deviations, zero but for rounding, corrects the sum of squares
 * (T. F. Chan, G. H. Golub and R. J. LeVeque, Amer. Statist. 37 (1983) 242, eq. 1.7), so that a large common offset does no harm.
 *
 * @throws {RangeError} no values, or one that is not finite
 */
export function standardDeviation(values: ArrayLike<number>): number | null {
  requireValues("standardDeviation", values, "values");
  return values.length < 2 ? null : Math.sqrt(plainVariance(values, plainMean(values)));
}

/**
 * Number, mean, standard deviation and standard error of the mean.
 *
 * @throws {RangeError} no values, or one that is not finite
 */
export function summarise(values: ArrayLike<number>): Summary {
  requireValues("summarise", values, "values");
  const n = values.length;
  const centre = plainMean(values);
  if (n < 2) return {n, mean: centre, sd: null, standardError: null};
  const sd = Math.sqrt(plainVariance(values, centre));
  return {n, mean: centre, sd, standardError: sd / Math.sqrt(n)};
}

/** `mean` of values known to be finite; n ≥ 1. */
export function plainMean(values: ArrayLike<number>): number {
  const n = values.length;
  let sum = 0;
  for (let i = 0; i < n; i++) sum += values[i];
  const first = sum / n;
  let rest = 0;
  for (let i = 0; i < n; i++) rest += values[i] - first;
  return first + rest / n;
}

/** Variance with divisor n − 1 about `centre`, of values known to be finite; n ≥ 2. */
export function plainVariance(values: ArrayLike<number>, centre: number): number {
  const n = values.length;
  let squares = 0;
  let rest = 0;
  for (let i = 0; i < n; i++) {
    const deviation = values[i] - centre;
    squares += deviation * deviation;
    rest += deviation;
  }
  return Math.max(0, squares - (rest * rest) / n) / (n - 1);
}
