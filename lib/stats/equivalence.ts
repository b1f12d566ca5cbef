import {requireFinite, requireFraction, requirePositive} from "./check.ts";
import {studentTUpperTail} from "./distributions.ts";
import {DEFAULT_LEVEL, type Interval, tInterval} from "./interval.ts";

/** Two one-sided tests of an estimate against ± margin. */
export interface Equivalence {
  /** p-value of "the true value is at or below −margin" */
  pLower: number;
  /** p-value of "the true value is at or above +margin" */
  pUpper: number;
  /** the larger of the two: p-value of "not equivalent" */
  p: number;
  /** interval at 2·level − 1; inside ± margin exactly when p < 1 − level */
  interval: Interval;
  /** p < 1 − level: a true value outside ± margin is rejected */
  holds: boolean;
}

/**
 * Whether a true value outside ± margin can be rejected, by two one-sided t tests at 1 − level.
 *
 * D. J. Schuirmann, J. Pharmacokinet. Biopharm. 15 (1987) 657. False alarms are at most 1 − level where the t interval holds.
 *
 * @param estimate      difference from the value to be equal to
 * @param standardError its standard error, positive, with `df` degrees of freedom
 * @param options       margin in the unit of the estimate; level of each one-sided test, default 0.95, above 0.5
 * @throws {RangeError} a number not finite, margin, standard error or df not positive, level not between 0.5 and 1
 */
export function equivalence(
  estimate: number,
  standardError: number,
  {df, margin, level = DEFAULT_LEVEL}: {df: number; margin: number; level?: number},
): Equivalence {
  requireFinite("equivalence", [estimate], "estimate");
  requirePositive("equivalence", standardError, "standard error");
  requirePositive("equivalence", margin, "margin");
  requireFraction("equivalence", 2 * level - 1, "2·level − 1");
  const pLower = studentTUpperTail((estimate + margin) / standardError, df);
  const pUpper = studentTUpperTail((margin - estimate) / standardError, df);
  const p = Math.max(pLower, pUpper);
  const interval = tInterval(estimate, standardError, {df, level: 2 * level - 1, method: "two one-sided t"});
  return {pLower, pUpper, p, interval, holds: p < 1 - level};
}
