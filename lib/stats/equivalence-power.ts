import {requireFinite, requireFraction, requirePositive} from "./check.ts";
import {normalCdf} from "./distributions.ts";
import {DEFAULT_LEVEL} from "./interval.ts";
import {noncentralTQuantile} from "./noncentral-t.ts";
import {overScale} from "./over-scale.ts";

/**
 * Chance that two one-sided t tests show equivalence.
 *
 * Exact: both tests share the spread, so for a sample with s times the true standard error the estimate has to fall inside
 * ± (margin − t·s·standardError), averaged over s (D. B. Owen, Biometrika 52 (1965) 437, in another form; from memory).
 * Absolute error below 1e-10.
 *
 * @param difference true difference, in the unit of the margin
 * @param options    standardError: true standard error of its estimate, positive; df: degrees of freedom; margin, positive;
 *   level of each one-sided test, default 0.95
 * @throws {RangeError} a number not finite, standard error, margin or df not positive, level not between 0.5 and 1
 */
export function equivalencePower(
  difference: number,
  {
    standardError,
    df,
    margin,
    level = DEFAULT_LEVEL,
  }: {standardError: number; df: number; margin: number; level?: number},
): number {
  requireFinite("equivalencePower", [difference], "difference");
  requirePositive("equivalencePower", standardError, "standard error");
  requirePositive("equivalencePower", margin, "margin");
  requireFraction("equivalencePower", 2 * level - 1, "2·level − 1");
  const critical = noncentralTQuantile(level, {df, noncentrality: 0}); // to 1e-12, where jStat's has 3e-8
  const far = (margin - difference) / standardError;
  const near = (-margin - difference) / standardError;
  const inside = (scale: number): number =>
    normalCdf(far - critical * scale) - normalCdf(near + critical * scale);
  const steps = [far, -near]
    .filter(distance => distance > 0)
    .map(distance => ({at: distance / critical, width: 1 / distance}));
  return overScale(df, inside, {upTo: margin / (critical * standardError), steps});
}
