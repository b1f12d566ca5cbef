import {requirePositive, requireSameLength, requireValues} from "./check.ts";
import {normalQuantile} from "./distributions.ts";
import {DEFAULT_LEVEL, type Interval, tInterval} from "./interval.ts";
import {summarise} from "./summary.ts";

/** Agreement of two ways to measure the same things. */
export interface Agreement {
  n: number;
  /** mean of second − first */
  bias: number;
  /** spread of these differences */
  sd: number;
  /** bias ∓ multiplier·sd: where most differences lie */
  limits: {low: number; high: number};
  /** standard error of the bias */
  biasStandardError: number;
  /** standard error of either limit, about √3·sd/√n */
  limitStandardError: number;
  /** t interval of the bias; null where all differences are alike */
  biasInterval: Interval | null;
  /** t interval of the lower limit; null likewise */
  lowInterval: Interval | null;
  /** t interval of the upper limit; null likewise */
  highInterval: Interval | null;
}

/**
 * Limits of agreement of paired measurements (J. M. Bland and D. G. Altman, Lancet 327 (1986) 307).
 *
 * The intervals of the limits use the rough √(3/n)·sd of that paper; they cover near their level from about 15 pairs.
 *
 * @param first   n ≥ 2 values
 * @param second  the same things measured the other way
 * @param options multiplier, default 1.96 (the paper's examples take 2); level, default 0.95
 * @throws {RangeError} different lengths, fewer than 2 pairs, a value not finite, multiplier not positive
 */
export function limitsOfAgreement(
  first: ArrayLike<number>,
  second: ArrayLike<number>,
  {multiplier = normalQuantile(0.975), level = DEFAULT_LEVEL}: {multiplier?: number; level?: number} = {},
): Agreement {
  const {n, mean: bias, sd} = differences("limitsOfAgreement", first, second);
  requirePositive("limitsOfAgreement", multiplier, "multiplier");
  const biasStandardError = sd / Math.sqrt(n);
  const limitStandardError = Math.sqrt(3) * biasStandardError;
  const limits = {low: bias - multiplier * sd, high: bias + multiplier * sd};
  const about = (centre: number, standardError: number, method: string): Interval | null =>
    sd === 0 ? null : tInterval(centre, standardError, {df: n - 1, level, method});
  return {
    n,
    bias,
    sd,
    limits,
    biasStandardError,
    limitStandardError,
    biasInterval: about(bias, biasStandardError, "t, mean difference"),
    lowInterval: about(limits.low, limitStandardError, "t, lower limit of agreement"),
    highInterval: about(limits.high, limitStandardError, "t, upper limit of agreement"),
  };
}

/** How far a measurement repeats itself. */
export interface Repeatability {
  n: number;
  /** root mean square of the differences */
  rmsDifference: number;
  /** spread of one measurement of one thing, rmsDifference/√2 */
  withinSd: number;
  /** two measurements of one thing differ by less than this in about 95 % of cases: 2·rmsDifference */
  coefficient: number;
}

/**
 * Repeatability from n things measured twice the same way; the mean difference is taken to be zero (Bland and Altman 1986).
 *
 * @throws {RangeError} different lengths, fewer than 2 pairs, a value not finite
 */
export function repeatability(first: ArrayLike<number>, second: ArrayLike<number>): Repeatability {
  const {n, mean, sd} = differences("repeatability", first, second);
  const rmsDifference = Math.sqrt(mean * mean + (sd * sd * (n - 1)) / n);
  return {n, rmsDifference, withinSd: rmsDifference / Math.SQRT2, coefficient: 2 * rmsDifference};
}

function differences(
  caller: string,
  first: ArrayLike<number>,
  second: ArrayLike<number>,
): {n: number; mean: number; sd: number} {
  requireSameLength(caller, first, second, "the two measurements");
  requireValues(caller, first, "first measurements", 2);
  requireValues(caller, second, "second measurements", 2);
  const {n, mean, sd} = summarise(Float64Array.from(first, (value, i) => second[i] - value));
  return {n, mean, sd: sd!}; // two values have a spread
}
