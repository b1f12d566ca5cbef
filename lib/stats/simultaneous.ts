import {requireFraction, requirePositive, requireWhole} from "./check.ts";
import {normalCdf, normalUpperTail} from "./distributions.ts";
import {overScale} from "./over-scale.ts";
import {findIncreasingRoot} from "./root.ts";

/** Estimates that are judged together. */
export interface Family {
  /** how many, ≥ 1 */
  count: number;
  /** degrees of freedom of the spread they share; `Infinity` where it is known */
  df: number;
  /** correlation between any two of them, 0 ≤ correlation < 1; default 0 */
  correlation?: number;
}

/** The normal density is spent beyond this. */
const FAR = 8.5;
/** Step of the trapezoidal rule over a normal density; its error is exp(−2π²/step²), below 1e-40. */
const STEP = 0.4;

/**
 * P(max |T| ≤ t) of `count` t statistics with one common estimate of spread.
 *
 * Correlation 0: the studentised maximum modulus, and with infinite df Šidák's bound; ½: comparisons of several arms with one
 * control of the same size (C. W. Dunnett, J. Amer. Statist. Assoc. 50 (1955) 1096). Absolute error below 1e-10.
 *
 * @param t ≥ 0
 * @throws {RangeError} t negative or NaN, count not a whole number ≥ 1, df not positive, correlation outside 0 … 1
 */
export function maxAbsTCdf(t: number, {count, df, correlation = 0}: Family): number {
  if (!(t >= 0)) throw new RangeError(`maxAbsTCdf: t must be at least 0, but it is ${t}`);
  requireWhole("maxAbsTCdf", count, "count");
  if (!(correlation >= 0 && correlation < 1)) {
    throw new RangeError(`maxAbsTCdf: correlation must lie from 0 to below 1, but it is ${correlation}`);
  }
  const inside = correlation === 0 ? independent : correlated;
  return overScale(df, scale => inside(t * scale, count, correlation));
}

/**
 * Critical value c with P(max |T| ≤ c) = level: estimate ± c·standardError holds for all of them at once.
 *
 * @throws {RangeError} as `maxAbsTCdf`, level not between 0 and 1
 */
export function maxAbsTQuantile(level: number, family: Family): number {
  requireFraction("maxAbsTQuantile", level, "level");
  return findIncreasingRoot(t => (t <= 0 ? -level : maxAbsTCdf(t, family) - level), {start: 3, reach: 3});
}

/**
 * P(Q ≤ q) of the studentised range: largest minus smallest of `count` independent means over their standard error.
 *
 * k∫φ(z)[Φ(z) − Φ(z − w)]^(k−1) dz, averaged over the spread (H. L. Harter, Ann. Math. Statist. 31 (1960) 1122; from
 * memory). Absolute error below 1e-9.
 *
 * @param q ≥ 0
 * @throws {RangeError} q negative or NaN, count below 2, df not positive
 */
export function studentisedRangeCdf(q: number, {count, df}: {count: number; df: number}): number {
  if (!(q >= 0)) throw new RangeError(`studentisedRangeCdf: q must be at least 0, but it is ${q}`);
  requireWhole("studentisedRangeCdf", count, "count", 2);
  return overScale(df, scale => rangeCdf(q * scale, count));
}

/**
 * q with P(Q ≤ q) = p, studentised range.
 *
 * @throws {RangeError} as `studentisedRangeCdf`, p not between 0 and 1
 */
export function studentisedRangeQuantile(p: number, {count, df}: {count: number; df: number}): number {
  requireFraction("studentisedRangeQuantile", p, "p");
  if (df !== Number.POSITIVE_INFINITY) requirePositive("studentisedRangeQuantile", df, "degrees of freedom");
  const miss = (q: number): number => (q <= 0 ? -p : studentisedRangeCdf(q, {count, df}) - p);
  return findIncreasingRoot(miss, {start: 4, reach: 4});
}

function independent(t: number, count: number): number {
  return (1 - 2 * normalUpperTail(t)) ** count;
}

/** Given their common part z the estimates are independent. */
function correlated(t: number, count: number, correlation: number): number {
  const common = Math.sqrt(correlation);
  const own = Math.sqrt(1 - correlation);
  const step = STEP * Math.min(1, own / common);
  let sum = 0;
  for (let z = 0; z < FAR; z += step) {
    const inside = normalCdf((t - common * z) / own) - normalCdf((-t - common * z) / own);
    sum += (z === 0 ? 1 : 2) * Math.exp((-z * z) / 2) * inside ** count; // even in z
  }
  return (sum * step) / Math.sqrt(2 * Math.PI);
}

function rangeCdf(width: number, count: number): number {
  let sum = 0;
  for (let z = -FAR; z < FAR + width; z += STEP) {
    sum += Math.exp((-z * z) / 2) * (normalCdf(z) - normalCdf(z - width)) ** (count - 1);
  }
  return (count * sum * STEP) / Math.sqrt(2 * Math.PI);
}
