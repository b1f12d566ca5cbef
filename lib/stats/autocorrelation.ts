import {requireValues, requireWhole} from "./check.ts";
import {plainMean} from "./summary.ts";

/**
 * Lag-one autocorrelation, Σ(xᵢ − m)(xᵢ₊₁ − m)/Σ(xᵢ − m)², as certified by the NIST reference sets.
 *
 * @param values in their order, at least 2
 * @returns null where all values are alike
 * @throws {RangeError} fewer than 2 values, or one that is not finite
 */
export function lagOneAutocorrelation(values: ArrayLike<number>): number | null {
  requireValues("lagOneAutocorrelation", values, "values", 2);
  const centre = plainMean(values);
  let squares = 0;
  let products = 0;
  let before = 0;
  for (let i = 0; i < values.length; i++) {
    const deviation = values[i] - centre;
    squares += deviation * deviation;
    products += before * deviation;
    before = deviation;
  }
  return squares > 0 ? products / squares : null;
}

/**
 * Number of independent values whose mean is as certain as that of n values of a first-order autoregressive series.
 *
 * n over 1 + 2Σ(1 − k/n)ρᵏ (k from 1 to n − 1), exact for a stationary series; for long ones near n(1 − ρ)/(1 + ρ).
 *
 * @param n           ≥ 1
 * @param correlation ρ of neighbours, −1 < ρ < 1
 * @throws {RangeError} n not a whole number ≥ 1, correlation out of range
 */
export function effectiveSampleSize(n: number, correlation: number): number {
  requireWhole("effectiveSampleSize", n, "n");
  if (!(correlation > -1 && correlation < 1)) {
    throw new RangeError(
      `effectiveSampleSize: the correlation must lie between −1 and 1, but it is ${correlation}`,
    );
  }
  let inflation = 1;
  let power = correlation;
  for (let k = 1; k < n && power !== 0; k++, power *= correlation) inflation += 2 * (1 - k / n) * power;
  return n / inflation;
}
