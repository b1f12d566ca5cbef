import {type BootstrapResult, DEFAULT_RESAMPLES} from "./bootstrap.ts";
import {
  type BootstrapDistribution,
  completeDistribution,
  drawnDistribution,
  spreadOf,
} from "./bootstrap-distribution.ts";
import {drawErrors, type ErrorPool, errorPool, listErrors} from "./bootstrap-errors.ts";
import {
  type BootstrapInterval,
  bcaInterval,
  percentileInterval,
  studentisedInterval,
} from "./bootstrap-interval.ts";
import {requireWhole} from "./check.ts";
import {type LeastSquaresFit, termIndex} from "./least-squares.ts";
import type {Random} from "./random.ts";

/** Listing so many redraws takes about 30 ms: two means of three, or of three and four, or six places of their own. */
export const MAX_LISTED_REDRAWS = 50_000;

/** A bootstrap of a coefficient; `interval` is the studentised one. */
export interface CoefficientBootstrap extends BootstrapResult {
  /** quantiles of the coefficient over redraws of the residuals as they are; covers too rarely */
  percentile: BootstrapInterval | null;
  /** the same, corrected for bias and acceleration; covers too rarely */
  bca: BootstrapInterval | null;
}

/**
 * Studentised bootstrap of one coefficient on the residuals of the model.
 *
 * Residuals are scaled to equal variance, e/√(1 − leverage), centred, redrawn with replacement and fitted by the same
 * model; t* = (b* − b)/se* replaces Student's quantile (A. C. Davison and D. V. Hinkley, Bootstrap Methods and their
 * Application, 1997, §6.2.3 and algorithm 6.1). Needs no normal errors, but errors of one spread. All redraws with their probabilities where
 * they are few, else draws.
 *
 * Percentile and BCa limits come from the same redraws of the residuals as they are, which is what they are taught with; the
 * acceleration is a sixth of the skewness of the redrawn coefficient.
 *
 * @param fit     model with df ≥ 1 for an answer
 * @param name    its term
 * @param options random source, made by the caller from a printed seed; level, default 0.95; nResamples, default 9999;
 *   maxListed, default `MAX_LISTED_REDRAWS`
 * @returns intervals null where df = 0 or the model fits exactly
 * @throws {RangeError} no such term, level not between 0 and 1, nResamples < 1
 */
export function bootstrapCoefficient(
  fit: LeastSquaresFit,
  name: string,
  {
    random,
    level,
    nResamples = DEFAULT_RESAMPLES,
    maxListed = MAX_LISTED_REDRAWS,
  }: {random: Random; level?: number; nResamples?: number; maxListed?: number},
): CoefficientBootstrap {
  requireWhole("bootstrapCoefficient", nResamples, "nResamples");
  const pool = errorPool("bootstrapCoefficient", fit, name);
  const j = termIndex("bootstrapCoefficient", fit, name);
  const {df, coefficients, standardErrors, unscaledCovariance} = fit;
  const scale = Math.sqrt(unscaledCovariance[j * fit.qr.p + j]);
  const estimate = coefficients[j];
  if (standardErrors === null || standardErrors[j] === 0 || pool.scaled.length < 2) {
    return {
      estimate,
      standardError: 0,
      interval: null,
      percentile: null,
      bca: null,
      complete: false,
      nResamples: 0,
      droppedShare: 0,
    };
  }
  const listed = listErrors(pool, maxListed);
  const {shifts, plainShifts, squares, weights} = listed ?? drawErrors(pool, nResamples, random);
  const n = shifts.length;
  const t = new Float64Array(n);
  const kept = weights && new Float64Array(n);
  let end = 0;
  let droppedShare = 0;
  for (let i = 0; i < n; i++) {
    if (squares[i] === 0) {
      droppedShare += weights === null ? 1 / n : weights[i];
      continue;
    }
    if (kept !== null) kept[end] = weights![i];
    t[end++] = shifts[i] / (scale * Math.sqrt(squares[i] / df));
  }
  const result = {
    estimate,
    standardError: spreadOf(shifts, weights),
    complete: listed !== null,
    nResamples: n,
    droppedShare,
    ...plainIntervals(plainShifts, weights, {pool, estimate, level}),
  };
  if (end === 0) return {...result, interval: null};
  const distribution = distributionOf(t.subarray(0, end), kept?.subarray(0, end) ?? null);
  const interval = studentisedInterval(distribution, {estimate, standardError: standardErrors[j], level});
  return {...result, interval: interval && {...interval, method: "studentised bootstrap of residuals"}};
}

function plainIntervals(
  shifts: Float64Array,
  weights: Float64Array | null,
  {pool, estimate, level}: {pool: ErrorPool; estimate: number; level: number | undefined},
): Pick<CoefficientBootstrap, "percentile" | "bca"> {
  const distribution = distributionOf(
    shifts.map(shift => estimate + shift),
    weights,
  );
  return {
    percentile: percentileInterval(distribution, {level}),
    bca: bcaInterval(distribution, {estimate, acceleration: accelerationOf(pool), level}),
  };
}

function distributionOf(values: Float64Array, weights: Float64Array | null): BootstrapDistribution {
  return weights === null ? drawnDistribution(values) : completeDistribution(values, weights);
}

/** A sixth of the skewness of Σ weight·error over errors drawn from the pool. */
function accelerationOf({plain, weights}: ErrorPool): number {
  const sum = (values: Float64Array, power: number) =>
    values.reduce((total, value) => total + value ** power, 0);
  const third = sum(plain, 3) / plain.length;
  const second = sum(plain, 2) / plain.length;
  return second > 0 ? (sum(weights, 3) * third) / (6 * (sum(weights, 2) * second) ** 1.5) : 0;
}
