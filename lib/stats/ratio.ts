import {requireFinite, requireFraction, requirePositive} from "./check.ts";
import {studentTQuantile} from "./distributions.ts";
import {DEFAULT_LEVEL, type Interval} from "./interval.ts";

/** An estimate and its standard error. */
export interface Uncertain {
  estimate: number;
  /** ≥ 0 */
  standardError: number;
}

/** Ratio of two estimates. */
export interface Ratio {
  estimate: number;
  /** null where the denominator cannot be told from zero at this level: no bounded interval exists */
  interval: Interval | null;
  /** (t·standard error of the denominator / denominator)²; 1 or more leaves the ratio unbounded */
  g: number;
}

/**
 * Ratio of two estimates with Fieller's interval: all r for which numerator − r·denominator is not significant.
 *
 * E. C. Fieller, J. R. Stat. Soc. B 16 (1954) 175 (from memory). Exact for normal estimates whose standard errors come from one
 * spread with `df` degrees of freedom; close for separate spreads with Satterthwaite's df.
 *
 * @param numerator   estimate and standard error
 * @param denominator likewise, not zero
 * @param options     df; covariance of the two, default 0; level, default 0.95
 * @throws {RangeError} a number not finite, denominator 0, df not positive, level not between 0 and 1, covariance too large
 *   for the standard errors
 */
export function ratioInterval(
  numerator: Uncertain,
  denominator: Uncertain,
  {df, covariance = 0, level = DEFAULT_LEVEL}: {df: number; covariance?: number; level?: number},
): Ratio {
  const {estimate: b, standardError: sb} = numerator;
  const {estimate: a, standardError: sa} = denominator;
  requireFinite("ratioInterval", [a, sa, b, sb, covariance], "estimates and standard errors");
  requirePositive("ratioInterval", Math.abs(a), "size of the denominator");
  requireFraction("ratioInterval", level, "level");
  if (!(sa >= 0 && sb >= 0 && Math.abs(covariance) <= sa * sb * (1 + 1e-12))) {
    throw new RangeError(
      `ratioInterval: standard errors ${sb} and ${sa} with covariance ${covariance} are not those of two estimates`,
    );
  }
  const t = studentTQuantile((1 + level) / 2, df);
  const ratio = b / a;
  const g = ((t * sa) / a) ** 2;
  if (g >= 1) return {estimate: ratio, interval: null, g};
  // (b − r·a)² = t²(sb² − 2r·cov + r²·sa²), a quadratic in r divided by a²
  const middle = ratio - (t * t * covariance) / (a * a);
  const outer = ratio * ratio - ((t * sb) / a) ** 2;
  const half = Math.sqrt(Math.max(0, middle * middle - (1 - g) * outer));
  return {
    estimate: ratio,
    interval: {low: (middle - half) / (1 - g), high: (middle + half) / (1 - g), level, method: "Fieller"},
    g,
  };
}
