import {requireFinite, requireFraction, requireWhole} from "./check.ts";
import {fQuantile, studentTQuantile} from "./distributions.ts";
import {DEFAULT_LEVEL} from "./interval.ts";
import {noncentralTUpperTail} from "./noncentral-t.ts";

/** Points at which the ratio of variances is taken; 16 and 64 differ by less than 0.001 in power. */
const POINTS = 16;

/**
 * Chance that Welch's t test of two samples of n from normal populations of one spread finds a difference with its sign.
 *
 * Sum and ratio of the two sample variances are independent, so given the ratio the statistic is noncentral t with 2(n − 1) degrees of
 * freedom, against the critical value of Welch's own degrees of freedom, (n − 1)(1 + r)²/(1 + r²); this is averaged over r, which is
 * F with n − 1 and n − 1. Error below 0.001.
 *
 * @param effect  true difference in units of the common spread, ≥ 0
 * @param n       observations in each sample, ≥ 2
 * @param options level, default 0.95, two-sided
 * @throws {RangeError} effect negative, n not a whole number from 2, level not between 0 and 1
 */
export function welchPower(
  effect: number,
  n: number,
  {level = DEFAULT_LEVEL}: {level?: number} = {},
): number {
  requireFinite("welchPower", [effect], "effect");
  if (effect < 0) throw new RangeError(`welchPower: the effect must be at least 0, but it is ${effect}`);
  requireWhole("welchPower", n, "n", 2);
  requireFraction("welchPower", level, "level");
  const options = {df: 2 * (n - 1), noncentrality: effect * Math.sqrt(n / 2)};
  let sum = 0;
  for (let i = 0; i < POINTS; i++) {
    // r and 1/r have the same degrees of freedom, so the upper half of the distribution is enough
    const r = fQuantile(0.5 + (i + 0.5) / (2 * POINTS), n - 1, n - 1);
    const df = ((n - 1) * (1 + r) ** 2) / (1 + r * r);
    sum += noncentralTUpperTail(studentTQuantile((1 + level) / 2, df), options);
  }
  return sum / POINTS;
}
