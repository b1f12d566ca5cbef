import {requireFraction, requireSameLength, requireValues} from "./check.ts";
import {middle, type RankEstimate} from "./hodges-lehmann.ts";
import {DEFAULT_LEVEL} from "./interval.ts";
import {median} from "./quantile.ts";
import {concordantPairs} from "./rank-distribution.ts";

/** A straight line through the middle of the points. */
export interface TheilSen {
  /** median of the slopes of all pairs with different x, in units of y over those of x */
  slope: RankEstimate;
  /** median of y − slope·x, as W. J. Conover has it */
  intercept: number;
  /** number of pairs with a slope */
  pairs: number;
}

/**
 * Slope that a few wild points cannot bend, with the interval of slopes that Kendall's rank test does not reject.
 *
 * P. K. Sen, J. Amer. Statist. Assoc. 63 (1968) 1379. Exact for independent errors of one continuous distribution, equal x included;
 * ties in y make the interval wider than needed.
 *
 * @param x n ≥ 2 places
 * @param y n values
 * @param options level, default 0.95
 * @returns null where all x are equal
 * @throws {RangeError} different lengths, fewer than 2 points, a value not finite, level not between 0 and 1
 */
export function theilSen(
  x: ArrayLike<number>,
  y: ArrayLike<number>,
  {level = DEFAULT_LEVEL}: {level?: number} = {},
): TheilSen | null {
  requireSameLength("theilSen", x, y, "x and y");
  requireValues("theilSen", x, "x", 2);
  requireValues("theilSen", y, "y", 2);
  requireFraction("theilSen", level, "level");
  const n = x.length;
  const slopes: number[] = [];
  for (let i = 0; i < n; i++) {
    for (let j = i + 1; j < n; j++) if (x[i] !== x[j]) slopes.push((y[j] - y[i]) / (x[j] - x[i]));
  }
  if (slopes.length === 0) return null;
  const sizes = new Map<number, number>();
  for (let i = 0; i < n; i++) sizes.set(x[i], (sizes.get(x[i]) ?? 0) + 1);
  const distribution = concordantPairs([...sizes.values()]);
  const slope = middle(Float64Array.from(slopes), distribution, {level, method: "Theil–Sen, Kendall"});
  return {
    slope,
    intercept: median(Float64Array.from(y, (value, i) => value - slope.estimate * x[i])),
    pairs: slopes.length,
  };
}
