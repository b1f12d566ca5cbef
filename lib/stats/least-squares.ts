import {requireFinite, requireSameLength, requireValues} from "./check.ts";
import {type Interval, tInterval} from "./interval.ts";
import {householderQr, invertTriangle, projections, type Qr, solveTriangle, type Term} from "./qr.ts";

/** A fitted linear model y = X b + e. Units: those of y over those of each term. */
export interface LeastSquaresFit {
  names: readonly string[];
  /** b, length p */
  coefficients: Float64Array;
  /** standard errors of b, length p; null where df = 0 */
  standardErrors: Float64Array | null;
  /** (XᵀX)⁻¹ by rows, p × p: the covariance of b over the residual variance */
  unscaledCovariance: Float64Array;
  /** covariance of b by rows, p × p; null where df = 0 */
  covariance: Float64Array | null;
  /** observations minus terms */
  df: number;
  /** square root of residual sum of squares over df, 0 where the model fits up to rounding; null where df = 0 */
  residualSd: number | null;
  /** y − X b, length n */
  residuals: Float64Array;
  /** diagonal of X (XᵀX)⁻¹ Xᵀ, length n: how far each observation draws the fit to itself, 0 … 1 */
  leverages: Float64Array;
  /** the decomposition of X, for those who fit the same X again */
  qr: Qr;
}

/**
 * Name of the first term that the ones before it already determine, or null where every coefficient can be told.
 *
 * @throws {RangeError} no terms, different lengths, a value that is not finite
 */
export function aliasedTerm(terms: readonly Term[]): string | null {
  const {dependent} = decompose("aliasedTerm", terms);
  return dependent === null ? null : terms[dependent].name;
}

/**
 * Ordinary least squares.
 *
 * The model has the given terms and no others: give a column of ones for an intercept. Coefficients of the NIST reference
 * problems come out to 1e-7 relative (Longley) or better.
 *
 * @param y     n observations
 * @param terms p ≤ n columns of n values
 * @throws {RangeError} different lengths, a value that is not finite, a term that the ones before it determine (named)
 */
export function leastSquares(y: ArrayLike<number>, terms: readonly Term[]): LeastSquaresFit {
  requireFinite("leastSquares", y, "y");
  const qr = decompose("leastSquares", terms);
  requireSameLength("leastSquares", y, terms[0].values, "y and the terms");
  const {n, p, q, dependent} = qr;
  if (dependent !== null) {
    throw new RangeError(
      `leastSquares: the term "${terms[dependent].name}" cannot be told from ${
        dependent === 0
          ? "zero"
          : `the terms before it (${terms
              .slice(0, dependent)
              .map(term => term.name)
              .join(", ")})`
      } in ${n} observations; leave it out or observe more`,
    );
  }
  const coefficients = solveTriangle(qr, projections(qr, y));
  const residuals = Float64Array.from(y);
  terms.forEach((term, j) => {
    for (let i = 0; i < n; i++) residuals[i] -= term.values[i] * coefficients[j];
  });
  const leverages = new Float64Array(n);
  for (let j = 0; j < p; j++) for (let i = 0; i < n; i++) leverages[i] += q[j * n + i] ** 2;
  const unscaledCovariance = inverseOfSquares(qr);
  const df = n - p;
  const residualSd = df > 0 ? spread(residuals, y, df) : null;
  return {
    names: terms.map(term => term.name),
    coefficients,
    standardErrors:
      residualSd === null
        ? null
        : Float64Array.from({length: p}, (_, j) => residualSd * Math.sqrt(unscaledCovariance[j * p + j])),
    unscaledCovariance,
    covariance: residualSd === null ? null : unscaledCovariance.map(value => value * residualSd * residualSd),
    df,
    residualSd,
    residuals,
    leverages,
    qr,
  };
}

/**
 * t interval of one coefficient, or null where there is none: no residual degree of freedom, or residuals all zero.
 *
 * @param name term of the fit
 * @throws {RangeError} no such term, level not between 0 and 1
 */
export function coefficientInterval(
  fit: LeastSquaresFit,
  name: string,
  {level}: {level?: number} = {},
): Interval | null {
  const j = termIndex("coefficientInterval", fit, name);
  const {standardErrors, df, coefficients} = fit;
  if (standardErrors === null || standardErrors[j] === 0) return null;
  return tInterval(coefficients[j], standardErrors[j], {df, level, method: "t, least squares"});
}

/** Place of a term in the fit. @throws {RangeError} the fit has no such term */
export function termIndex(caller: string, fit: LeastSquaresFit, name: string): number {
  const j = fit.names.indexOf(name);
  if (j < 0) throw new RangeError(`${caller}: no term "${name}" in this fit; it has ${fit.names.join(", ")}`);
  return j;
}

function decompose(caller: string, terms: readonly Term[]): Qr {
  if (terms.length === 0) throw new RangeError(`${caller}: a model needs at least one term`);
  for (const term of terms) {
    requireSameLength(
      caller,
      term.values,
      terms[0].values,
      `the terms "${term.name}" and "${terms[0].name}"`,
    );
    requireValues(caller, term.values, term.name);
  }
  return householderQr(terms.map(term => term.values));
}

/** Residuals below this part of the largest |y| are rounding of an exact fit. */
const EXACT_FIT = 1e-14;

function spread(residuals: Float64Array, y: ArrayLike<number>, df: number): number {
  let squares = 0;
  let largest = 0;
  for (let i = 0; i < residuals.length; i++) {
    squares += residuals[i] ** 2;
    largest = Math.max(largest, Math.abs(y[i]));
  }
  const sd = Math.sqrt(squares / df);
  return sd > EXACT_FIT * largest ? sd : 0;
}

/** (XᵀX)⁻¹ = R⁻¹ R⁻ᵀ. */
function inverseOfSquares(qr: Qr): Float64Array {
  const {p} = qr;
  const inverse = invertTriangle(qr);
  const result = new Float64Array(p * p);
  for (let j = 0; j < p; j++) {
    for (let k = 0; k < p; k++) {
      let sum = 0;
      for (let m = Math.max(j, k); m < p; m++) sum += inverse[j * p + m] * inverse[k * p + m];
      result[j * p + k] = sum;
    }
  }
  return result;
}
