import {requireFraction, requirePositive} from "./check.ts";
import {studentTQuantile} from "./distributions.ts";

/** A confidence interval, in the unit of its estimate. */
export interface Interval {
  low: number;
  high: number;
  /** nominal coverage, 0 … 1 */
  level: number;
  /** how it was made, in words */
  method: string;
}

/** Confidence used where none is given. */
export const DEFAULT_LEVEL = 0.95;

/**
 * Interval estimate ± t·standardError with Student's quantile at (1 + level)/2.
 *
 * Exact for normal errors of one spread with `df` degrees of freedom.
 *
 * @throws {RangeError} level not between 0 and 1, standard error or df not positive
 */
export function tInterval(
  estimate: number,
  standardError: number,
  {df, level = DEFAULT_LEVEL, method}: {df: number; level?: number; method: string},
): Interval {
  requireFraction("tInterval", level, "level");
  requirePositive("tInterval", standardError, "standard error");
  const half = studentTQuantile((1 + level) / 2, df) * standardError;
  return {low: estimate - half, high: estimate + half, level, method};
}
