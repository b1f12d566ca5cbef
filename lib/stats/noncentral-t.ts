import {requireFinite, requireFraction} from "./check.ts";
import {normalCdf} from "./distributions.ts";
import {overScale} from "./over-scale.ts";
import {findIncreasingRoot} from "./root.ts";

/** Shape of a noncentral t distribution. */
export interface NoncentralT {
  /** degrees of freedom, positive, fractional allowed; `Infinity` for the normal distribution about the noncentrality */
  df: number;
  /** true value over its true standard error */
  noncentrality: number;
}

/**
 * P(T ≤ t) for T = (Z + noncentrality)/√(χ²/df): a t statistic when the effect is not zero.
 *
 * The normal distribution function averaged over the spread, ∫ Φ(t·s − noncentrality) dP(s). Relative error below 1e-9 for
 * probabilities above 1e-8; far out the absolute error stays near 1e-17.
 *
 * @param t finite
 * @throws {RangeError} a number not finite, df not positive
 */
export function noncentralTCdf(t: number, {df, noncentrality}: NoncentralT): number {
  requireFinite("noncentralTCdf", [t, noncentrality], "t and noncentrality");
  const at = noncentrality / t;
  const steps = at > 0 && at < Number.POSITIVE_INFINITY ? [{at, width: 1 / Math.abs(noncentrality)}] : [];
  return Math.min(
    1,
    overScale(df, scale => normalCdf(t * scale - noncentrality), {steps}),
  );
}

/** P(T > t), as accurate in its tail as `noncentralTCdf`: the mirror image. */
export function noncentralTUpperTail(t: number, {df, noncentrality}: NoncentralT): number {
  return noncentralTCdf(-t, {df, noncentrality: -noncentrality});
}

/**
 * t with P(T ≤ t) = p, noncentral t.
 *
 * @throws {RangeError} p not between 0 and 1, a number not finite, df not positive
 */
export function noncentralTQuantile(p: number, {df, noncentrality}: NoncentralT): number {
  requireFraction("noncentralTQuantile", p, "p");
  const shape = {df, noncentrality};
  // the smaller tail, which keeps its digits
  const miss =
    p < 0.5
      ? (t: number) => noncentralTCdf(t, shape) - p
      : (t: number) => 1 - p - noncentralTUpperTail(t, shape);
  return findIncreasingRoot(miss, {start: noncentrality, reach: 2 + Math.abs(noncentrality)});
}
