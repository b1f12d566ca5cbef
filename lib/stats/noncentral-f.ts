import {requireFinite, requirePositive} from "./check.ts";
import {betaCdf, betaUpperTail} from "./distributions.ts";
import {logGamma} from "./incomplete-gamma.ts";

/** Poisson weights this far (in standard deviations) from their mean do not count. */
const REACH = 12;

/**
 * P(X > x), noncentral F: the F statistic when group means differ.
 *
 * Mixture of beta distributions with Poisson weights of mean noncentrality/2 (DLMF has none; N. L. Johnson and S. Kotz, Continuous
 * Univariate Distributions 2, 1970, ch. 30, from memory). Relative error about 1e-7, that of the beta distribution.
 *
 * @param x       ≥ 0
 * @param options df1, df2 positive; noncentrality ≥ 0, the sum of squares between groups over the variance within
 * @throws {RangeError} a number not finite, a df not positive, x or noncentrality negative
 */
export function noncentralFUpperTail(
  x: number,
  {df1, df2, noncentrality}: {df1: number; df2: number; noncentrality: number},
): number {
  requireFinite("noncentralFUpperTail", [x, noncentrality], "x and noncentrality");
  requirePositive("noncentralFUpperTail", df1, "degrees of freedom of the numerator");
  requirePositive("noncentralFUpperTail", df2, "degrees of freedom of the denominator");
  if (x < 0 || noncentrality < 0) {
    throw new RangeError(
      `noncentralFUpperTail: x and noncentrality must not be negative, but they are ${x} and ${noncentrality}`,
    );
  }
  const share = (df1 * x) / (df1 * x + df2);
  if (noncentrality === 0) return betaUpperTail(share, df1 / 2, df2 / 2);
  const mean = noncentrality / 2;
  const reach = REACH * Math.sqrt(mean) + REACH * 3;
  let below = 0;
  let total = 0;
  for (let k = Math.max(0, Math.floor(mean - reach)); k <= mean + reach; k++) {
    const weight = Math.exp(k * Math.log(mean) - mean - logGamma(k + 1));
    total += weight;
    below += weight * betaCdf(share, df1 / 2 + k, df2 / 2);
  }
  return Math.max(0, 1 - below / total);
}
