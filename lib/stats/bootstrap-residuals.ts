import type {BootstrapResult} from "./bootstrap.ts";
import {DEFAULT_RESAMPLES} from "./bootstrap.ts";
import {drawnDistribution, spreadOf} from "./bootstrap-distribution.ts";
import {studentisedInterval} from "./bootstrap-interval.ts";
import {requireWhole} from "./check.ts";
import {type LeastSquaresFit, termIndex} from "./least-squares.ts";
import {invertTriangle} from "./qr.ts";
import type {Random} from "./random.ts";

/** An observation with a leverage this close to 1 fits itself; it has no residual to resample. */
const FITS_ITSELF = 1e-9;

/** Redrawn errors that leave less than this part of their sum of squares are fitted exactly: no spread to studentise by. */
const NO_SPREAD = 1e-12;

/**
 * Studentised bootstrap of one coefficient on the residuals of the model.
 *
 * Residuals are scaled to equal variance, e/√(1 − leverage), centred, redrawn with replacement and fitted by the same
 * model; t* = (b* − b)/se* replaces Student's quantile (A. C. Davison and D. V. Hinkley, Bootstrap Methods and their
 * Application, 1997, §6.2.3 and algorithm 6.1). Needs no normal errors, but errors of one spread. The nⁿ redraws cannot
 * be listed by multisets, since places matter: always drawn with the seed. For two means alone, `bootstrapDifference` lists.
 *
 * @param fit     model with df ≥ 1 for an answer
 * @param name    its term
 * @param options random source, made by the caller from a printed seed; level, default 0.95; nResamples, default 9999
 * @returns interval null where df = 0 or the model fits exactly
 * @throws {RangeError} no such term, level not between 0 and 1, nResamples < 1
 */
export function bootstrapCoefficient(
  fit: LeastSquaresFit,
  name: string,
  {random, level, nResamples = DEFAULT_RESAMPLES}: {random: Random; level?: number; nResamples?: number},
): BootstrapResult {
  requireWhole("bootstrapCoefficient", nResamples, "nResamples");
  const j = termIndex("bootstrapCoefficient", fit, name);
  const {n, p, q} = fit.qr;
  const {df, coefficients, standardErrors, unscaledCovariance} = fit;
  const pool = scaledResiduals(fit);
  const weights = coefficientWeights(fit, j);
  const scale = Math.sqrt(unscaledCovariance[j * p + j]);
  const estimate = coefficients[j];
  const result = {estimate, complete: false, nResamples};
  if (standardErrors === null || standardErrors[j] === 0 || pool.length < 2) {
    return {...result, standardError: 0, interval: null, nResamples: 0, droppedShare: 0};
  }
  const errors = new Float64Array(n);
  const shifts = new Float64Array(nResamples);
  const t = new Float64Array(nResamples);
  let kept = 0;
  for (let resample = 0; resample < nResamples; resample++) {
    let squares = 0;
    let shift = 0;
    for (let i = 0; i < n; i++) {
      const error = pool[random.integer(pool.length)];
      errors[i] = error;
      squares += error * error;
      shift += weights[i] * error;
    }
    let left = squares; // |e*|² − |Qᵀe*|², the residual sum of squares of the refit
    for (let k = 0; k < p; k++) {
      let part = 0;
      for (let i = 0, at = k * n; i < n; i++) part += q[at + i] * errors[i];
      left -= part * part;
    }
    shifts[resample] = shift;
    if (left > NO_SPREAD * squares) t[kept++] = shift / (scale * Math.sqrt(left / df));
  }
  const droppedShare = 1 - kept / nResamples;
  const standardError = spreadOf(shifts, null);
  if (kept === 0) return {...result, standardError, droppedShare, interval: null};
  const distribution = drawnDistribution(t.subarray(0, kept));
  const interval = studentisedInterval(distribution, {estimate, standardError: standardErrors[j], level});
  return {
    ...result,
    standardError,
    droppedShare,
    interval: interval && {...interval, method: "studentised bootstrap of residuals"},
  };
}

/** Residuals over √(1 − leverage), centred; those of observations that fit themselves left out. */
function scaledResiduals({residuals, leverages}: LeastSquaresFit): Float64Array {
  const scaled: number[] = [];
  residuals.forEach((residual, i) => {
    if (1 - leverages[i] > FITS_ITSELF) scaled.push(residual / Math.sqrt(1 - leverages[i]));
  });
  const centre = scaled.reduce((sum, value) => sum + value, 0) / Math.max(1, scaled.length);
  return Float64Array.from(scaled, value => value - centre);
}

/** Row j of R⁻¹Qᵀ: how each observation enters coefficient j. */
function coefficientWeights({qr}: LeastSquaresFit, j: number): Float64Array {
  const {n, p, q} = qr;
  const inverse = invertTriangle(qr);
  const weights = new Float64Array(n);
  for (let k = j; k < p; k++) for (let i = 0; i < n; i++) weights[i] += inverse[j * p + k] * q[k * n + i];
  return weights;
}
