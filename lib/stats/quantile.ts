import {requireValues} from "./check.ts";
import {selectInPlace} from "./select.ts";

/** The definitions of a sample quantile in R. J. Hyndman and Y. Fan, Amer. Statist. 50 (1996) 361, by their numbers. */
export type QuantileType = 1 | 2 | 3 | 4 | 5 | 6 | 7 | 8 | 9;

/** Plotting-position constants α = β of the interpolating definitions; type 4 alone has α = 0, β = 1. */
const POSITION = {
  4: [0, 1],
  5: [0.5, 0.5],
  6: [0, 0],
  7: [1, 1],
  8: [1 / 3, 1 / 3],
  9: [3 / 8, 3 / 8],
} as const;

/** n·p that misses a whole number by rounding alone counts as whole. */
const ROUNDING = 4 * Number.EPSILON;

/**
 * Sample quantile.
 *
 * Type 7 (the default) joins order statistics linearly and is what most programs print; type 1 is the smallest
 * value whose share of the sample reaches p; type 6 puts order statistic k at k/(n + 1).
 *
 * @param values n ≥ 1 finite numbers in any order
 * @param p      0 ≤ p ≤ 1
 * @throws {RangeError} no values, a value that is not finite, p outside 0 … 1
 */
export function quantile(values: ArrayLike<number>, p: number, options: {type?: QuantileType} = {}): number {
  requireValues("quantile", values, "values");
  const copy = new Float64Array(values);
  return between(copy.length, k => selectInPlace(copy, k), p, options); // sorting would take ten times as long
}

/** `quantile` of values that are already finite and in ascending order. */
export function quantileOfSorted(
  sorted: ArrayLike<number>,
  p: number,
  options: {type?: QuantileType} = {},
): number {
  return between(sorted.length, k => sorted[k], p, options);
}

/** The quantile of n values from those that it lies between; `ascending` gives the one at an index in ascending order. */
function between(
  n: number,
  ascending: (index: number) => number,
  p: number,
  {type = 7}: {type?: QuantileType},
): number {
  if (!(p >= 0 && p <= 1)) throw new RangeError(`quantile: p must lie from 0 to 1, but it is ${p}`);
  const place = placeOf(n, p, type);
  const whole = Math.floor(place + ROUNDING * n);
  const rest = Math.abs(place - whole) < ROUNDING * n ? 0 : place - whole;
  const at = (k: number): number => ascending(Math.min(Math.max(k, 1), n) - 1);
  const share = type === 1 || type === 2 || type === 3 ? jump(type, whole, rest) : rest;
  if (share === 0) return at(whole);
  if (share === 1) return at(whole + 1);
  const [low, high] = [at(whole), at(whole + 1)];
  // Rounding must not lead out of the step, as it does among the smallest doubles.
  return Math.min(Math.max((1 - share) * low + share * high, low), high);
}

/** Middle of the values; type 7 at p = 1/2. */
export function median(values: ArrayLike<number>): number {
  return quantile(values, 0.5);
}

/** As `median`, without a copy: reorders the values. */
export function medianInPlace(values: Float64Array): number {
  requireValues("medianInPlace", values, "values");
  return between(values.length, k => selectInPlace(values, k), 0.5, {});
}

/** Place of the quantile among the order statistics, counted from 1. */
function placeOf(n: number, p: number, type: QuantileType): number {
  if (type === 1 || type === 2) return n * p;
  if (type === 3) return n * p - 0.5;
  const [alpha, beta] = POSITION[type];
  return alpha + p * (n + 1 - alpha - beta);
}

/** Share of the next order statistic in the definitions that jump. */
function jump(type: 1 | 2 | 3, whole: number, rest: number): number {
  if (rest > 0) return 1;
  if (type === 1) return 0;
  if (type === 2) return 0.5;
  return whole % 2 === 0 ? 0 : 1; // type 3 rounds half to the even order statistic
}
