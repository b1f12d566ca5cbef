import jstat from "jstat";
import {requireFraction, requirePositive} from "./check.ts";
import {gammaRatios} from "./incomplete-gamma.ts";

// Quantiles of t, chi-square, F and beta and the incomplete beta function are jStat's, accurate to better than 1e-7 relative over
// the reference rows (no digit that is ever printed moves). Its normal and chi-square tails become 0 or noise beyond
// about 1e-15 and its normal quantile is off by 1 % at p = 1e-20: these three are our own. The tests hold both sides of that choice.
const {jStat} = jstat;

/**
 * P(Z > z), standard normal; relative error below 1e-12 down to the smallest double.
 *
 * @throws {RangeError} z is NaN
 */
export function normalUpperTail(z: number): number {
  requireNumber("normalUpperTail", z, "z");
  const {lower, upper} = gammaRatios(0.5, (z * z) / 2); // erfc(x) = Q(1/2, x²)
  return z >= 0 ? upper / 2 : 0.5 + lower / 2;
}

/** P(Z ≤ z), standard normal; as accurate in its tail as `normalUpperTail`. */
export function normalCdf(z: number): number {
  return normalUpperTail(-z);
}

/**
 * z with P(Z ≤ z) = p, standard normal.
 *
 * jStat's value as a start, then Newton's rule on the logarithm of our own tail; relative error below 1e-12 for p ≥ 1e-300.
 *
 * @throws {RangeError} p is not between 0 and 1
 */
export function normalQuantile(p: number): number {
  requireFraction("normalQuantile", p, "p");
  if (p === 0.5) return 0;
  const tail = Math.min(p, 1 - p);
  let z = -jStat.normal.inv(tail, 0, 1);
  for (let step = 0; step < 4; step++) {
    const reached = normalUpperTail(z);
    const density = Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI);
    if (reached === 0 || density === 0) break; // p among the denormal numbers: the start is as good as it gets
    z += (Math.log(reached / tail) * reached) / density;
  }
  return p < 0.5 ? -z : z;
}

/**
 * P(T > t), Student's t with `df` degrees of freedom, fractional allowed.
 *
 * ½ I_x(df/2, ½) at x = df/(df + t²), which keeps its digits far out where 1 − cdf gives 0.
 *
 * @throws {RangeError} t is NaN, df not positive
 */
export function studentTUpperTail(t: number, df: number): number {
  requireNumber("studentTUpperTail", t, "t");
  requirePositive("studentTUpperTail", df, "degrees of freedom");
  const tail = betaRatio(df / (df + t * t), df / 2, 0.5) / 2;
  return t >= 0 ? tail : 1 - tail;
}

/** P(T ≤ t), Student's t. */
export function studentTCdf(t: number, df: number): number {
  return studentTUpperTail(-t, df);
}

/** P(|T| ≥ |t|), the two-sided p-value of a t statistic. */
export function studentTTwoSided(t: number, df: number): number {
  return 2 * studentTUpperTail(Math.abs(t), df);
}

/**
 * t with P(T ≤ t) = p, Student's t.
 *
 * @throws {RangeError} p not between 0 and 1, df not positive
 */
export function studentTQuantile(p: number, df: number): number {
  requireFraction("studentTQuantile", p, "p");
  requirePositive("studentTQuantile", df, "degrees of freedom");
  return p === 0.5 ? 0 : finite("studentTQuantile", jStat.studentt.inv(p, df), p);
}

/**
 * P(X > x), chi-square; relative error below 1e-11.
 *
 * @throws {RangeError} x is NaN, df not positive
 */
export function chiSquareUpperTail(x: number, df: number): number {
  requireNumber("chiSquareUpperTail", x, "x");
  requirePositive("chiSquareUpperTail", df, "degrees of freedom");
  return gammaRatios(df / 2, Math.max(0, x) / 2).upper;
}

/** P(X ≤ x), chi-square; relative error below 1e-11 in its own tail too. */
export function chiSquareCdf(x: number, df: number): number {
  requireNumber("chiSquareCdf", x, "x");
  requirePositive("chiSquareCdf", df, "degrees of freedom");
  return gammaRatios(df / 2, Math.max(0, x) / 2).lower;
}

/** x with P(X ≤ x) = p, chi-square. */
export function chiSquareQuantile(p: number, df: number): number {
  requireFraction("chiSquareQuantile", p, "p");
  requirePositive("chiSquareQuantile", df, "degrees of freedom");
  return finite("chiSquareQuantile", jStat.chisquare.inv(p, df), p);
}

/**
 * P(X > x), F with `df1` and `df2` degrees of freedom: I_y(df2/2, df1/2) at y = df2/(df2 + df1·x).
 *
 * @throws {RangeError} x is NaN, a df not positive
 */
export function fUpperTail(x: number, df1: number, df2: number): number {
  requireF("fUpperTail", df1, df2);
  requireNumber("fUpperTail", x, "x");
  return x <= 0 ? 1 : betaRatio(df2 / (df2 + df1 * x), df2 / 2, df1 / 2);
}

/** P(X ≤ x), F. */
export function fCdf(x: number, df1: number, df2: number): number {
  requireF("fCdf", df1, df2);
  requireNumber("fCdf", x, "x");
  return x <= 0
    ? 0
    : x === Number.POSITIVE_INFINITY
      ? 1
      : betaRatio((df1 * x) / (df1 * x + df2), df1 / 2, df2 / 2);
}

/**
 * x with P(X ≤ x) = p, F. Above the middle from the lower tail of 1/X, since jStat loses the far upper tail.
 *
 * @throws {RangeError} p not between 0 and 1, a df not positive
 */
export function fQuantile(p: number, df1: number, df2: number): number {
  requireF("fQuantile", df1, df2);
  requireFraction("fQuantile", p, "p");
  if (p > 0.5) return 1 / fQuantile(1 - p, df2, df1);
  const y = betaQuantile(p, df1 / 2, df2 / 2);
  return finite("fQuantile", (df2 * y) / (df1 * (1 - y)), p);
}

/**
 * P(X ≤ x), beta distribution with shapes a and b.
 *
 * @throws {RangeError} x is NaN, a or b not positive
 */
export function betaCdf(x: number, a: number, b: number): number {
  requireBeta("betaCdf", a, b);
  requireNumber("betaCdf", x, "x");
  return betaRatio(Math.min(1, Math.max(0, x)), a, b);
}

/** P(X > x), beta distribution: the distribution function with exchanged arguments. */
export function betaUpperTail(x: number, a: number, b: number): number {
  return betaCdf(1 - x, b, a);
}

/**
 * x with P(X ≤ x) = p, beta distribution.
 *
 * jStat stops after ten steps, arrived or not (a = 20, b = 1, p = 1e-10 is off by a factor of 10⁴ in p); where its value does not
 * give p back, the logarithm of x is halved in instead.
 *
 * @throws {RangeError} p not between 0 and 1, a or b not positive
 */
export function betaQuantile(p: number, a: number, b: number): number {
  requireBeta("betaQuantile", a, b);
  requireFraction("betaQuantile", p, "p");
  const x = finite("betaQuantile", jStat.ibetainv(p, a, b), p);
  if (Math.abs(betaRatio(x, a, b) - p) <= 1e-6 * p) return x; // its ratio carries 3e-7 itself
  let low = Math.log(Number.MIN_VALUE);
  let high = 0;
  for (let step = 0; step < 64; step++) {
    const middle = (low + high) / 2;
    if (betaRatio(Math.exp(middle), a, b) < p) low = middle;
    else high = middle;
  }
  return Math.exp((low + high) / 2);
}

/** jStat's incomplete beta ratio, held inside 0 … 1 which its rounding can leave by 1e-16. */
function betaRatio(x: number, a: number, b: number): number {
  return Math.min(1, Math.max(0, finite("incomplete beta", jStat.ibeta(x, a, b), x)));
}

function finite(caller: string, value: number | false, at: number): number {
  if (value === false || !Number.isFinite(value)) {
    throw new RangeError(`${caller}: no finite value at ${at} with these parameters`);
  }
  return value;
}

function requireNumber(caller: string, value: number, what: string): void {
  if (Number.isNaN(value)) throw new RangeError(`${caller}: ${what} must be a number, but it is NaN`);
}

function requireF(caller: string, df1: number, df2: number): void {
  requirePositive(caller, df1, "degrees of freedom of the numerator");
  requirePositive(caller, df2, "degrees of freedom of the denominator");
}

function requireBeta(caller: string, a: number, b: number): void {
  requirePositive(caller, a, "shape a");
  requirePositive(caller, b, "shape b");
}
