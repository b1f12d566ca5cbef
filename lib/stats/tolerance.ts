import {requireFraction, requireWhole} from "./check.ts";
import {chiSquareUpperTail, normalCdf, normalQuantile} from "./distributions.ts";
import {noncentralTQuantile} from "./noncentral-t.ts";
import {findIncreasingRoot, findRoot} from "./root.ts";

/** What a tolerance limit promises. */
export interface ToleranceOptions {
  /** values in the sample, ≥ 2 */
  n: number;
  /** share of all future values that the limit holds, 0 … 1 */
  content: number;
  /** in this share of samples, default 0.95 */
  confidence?: number;
}

/**
 * Factor k: mean + k·sd lies above `content` of a normal population, with the given confidence.
 *
 * Quantile of noncentral t over √n (D. B. Owen, as in NIST/SEMATECH e-Handbook 7.2.6.3; from memory).
 *
 * @throws {RangeError} n below 2, content or confidence not between 0 and 1
 */
export function toleranceFactorOneSided(options: ToleranceOptions): number {
  const {n, content, confidence} = checked("toleranceFactorOneSided", options);
  const root = Math.sqrt(n);
  return noncentralTQuantile(confidence, {df: n - 1, noncentrality: normalQuantile(content) * root}) / root;
}

/**
 * Factor k: mean ± k·sd holds `content` of a normal population, with the given confidence.
 *
 * Exact: for a sample whose mean is off by z/√n the half width r(z) holds the content, and s ≥ r/k with probability
 * P(χ² ≥ df·r²/k²); averaged over z (A. Wald and J. Wolfowitz, Ann. Math. Statist. 17 (1946) 208; from memory).
 *
 * @throws {RangeError} n below 2, content or confidence not between 0 and 1
 */
export function toleranceFactorTwoSided(options: ToleranceOptions): number {
  const {n, content, confidence} = checked("toleranceFactorTwoSided", options);
  const df = n - 1;
  const halfWidths: number[] = [];
  for (let z = 0; z < FAR; z += STEP) halfWidths.push(holding(content, z / Math.sqrt(n)));
  const miss = (k: number): number => {
    if (k <= 0) return -confidence;
    let sum = 0;
    halfWidths.forEach((halfWidth, i) => {
      const weight = (i === 0 ? 1 : 2) * Math.exp(-((i * STEP) ** 2) / 2);
      sum += weight * chiSquareUpperTail(df * (halfWidth / k) ** 2, df);
    });
    return (sum * STEP) / Math.sqrt(2 * Math.PI) - confidence;
  };
  return findIncreasingRoot(miss, {start: 3, reach: 3});
}

/** The normal density is spent beyond this. */
const FAR = 8.5;
/** Trapezoidal step; half of it moves no factor by 1e-9. */
const STEP = 0.125;

/** r with Φ(off + r) − Φ(off − r) = content. */
function holding(content: number, off: number): number {
  const wide = Math.abs(off) - normalQuantile((1 - content) / 2);
  return findRoot(r => normalCdf(off + r) - normalCdf(off - r) - content, 0, wide + 1e-9);
}

function checked(
  caller: string,
  {n, content, confidence = 0.95}: ToleranceOptions,
): Required<ToleranceOptions> {
  requireWhole(caller, n, "n", 2);
  requireFraction(caller, content, "content");
  requireFraction(caller, confidence, "confidence");
  return {n, content, confidence};
}
