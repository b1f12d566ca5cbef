import {drawnDistribution} from "../stats/bootstrap-distribution.ts";
import {bcaInterval, percentileInterval, studentisedInterval} from "../stats/bootstrap-interval.ts";
import {repeated} from "../stats/bootstrap-means.ts";
import type {LeastSquaresFit} from "../stats/least-squares.ts";
import {invertTriangle} from "../stats/qr.ts";
import type {Random} from "../stats/random.ts";
import type {Deal} from "../trial/plan.ts";
import type {NumbersDay} from "./coverage-days.ts";

/** Both ends of an interval. */
export interface Ends {
  low: number;
  high: number;
}

/** An observation with a leverage this close to 1 fits itself; it has no residual to resample. */
const FITS_ITSELF = 1e-9;
/** Redrawn errors that leave less than this part of their sum of squares are fitted exactly. */
const NO_SPREAD = 1e-12;
/** Entries of an orthonormal column below this are zero but for rounding: a pair's term touches its own two runs. */
const NO_WEIGHT = 1e-14;

/**
 * `bootstrapCoefficient` of the last term for many days: the same distribution, some five times faster. Errors are drawn place by
 * place for all resamples at a time, so that draws and sums run through typed arrays. Uses the source in another way.
 *
 * @param fit with df ≥ 1 and residuals that are not all zero
 * @returns the interval, null where no resample has a spread, and the shifts of the coefficient over the resamples
 */
export function studentisedOfResiduals(
  fit: LeastSquaresFit,
  {level, nResamples, random}: {level: number; nResamples: number; random: Random},
): {interval: Ends | null; shifts: Float64Array} {
  const {n, p, q} = fit.qr;
  const table = repeated(residualsAndSquares(fit));
  const inverse = invertTriangle(fit.qr);
  const shifts = new Float64Array(nResamples);
  const squares = new Float64Array(nResamples);
  const parts = Array.from({length: p}, () => new Float64Array(nResamples));
  const drawn = new Float64Array(2 * nResamples);
  for (let i = 0; i < n; i++) {
    drawn.fill(0);
    random.addPicked(table, drawn);
    for (let k = 0; k < p; k++) {
      const weight = q[k * n + i];
      if (Math.abs(weight) < NO_WEIGHT) continue;
      const part = parts[k];
      for (let r = 0; r < nResamples; r++) part[r] += weight * drawn[2 * r];
    }
    for (let r = 0; r < nResamples; r++) squares[r] += drawn[2 * r + 1];
  }
  const last = p - 1; // the arm: its coefficient is its part over the last entry of the triangle
  const scale = Math.abs(inverse[last * p + last]);
  const t = new Float64Array(nResamples);
  let kept = 0;
  for (let r = 0; r < nResamples; r++) {
    let left = squares[r];
    for (let k = 0; k < p; k++) left -= parts[k][r] * parts[k][r];
    shifts[r] = inverse[last * p + last] * parts[last][r];
    if (left > NO_SPREAD * squares[r]) t[kept++] = shifts[r] / (scale * Math.sqrt(left / fit.df));
  }
  const interval =
    kept === 0
      ? null
      : studentisedInterval(drawnDistribution(t.subarray(0, kept)), {
          estimate: fit.coefficients[last],
          standardError: fit.standardErrors![last],
          level,
        });
  return {interval, shifts};
}

/** Residuals over √(1 − leverage), centred, each beside its square. */
function residualsAndSquares({residuals, leverages}: LeastSquaresFit): Float64Array {
  const scaled: number[] = [];
  residuals.forEach((residual, i) => {
    if (1 - leverages[i] > FITS_ITSELF) scaled.push(residual / Math.sqrt(1 - leverages[i]));
  });
  const centre = scaled.reduce((sum, value) => sum + value, 0) / scaled.length;
  return Float64Array.from(scaled.flatMap(value => [value - centre, (value - centre) ** 2]));
}

/**
 * Percentile and BCa intervals as they are taught: runs redrawn within each arm, whole pairs, and for blocks, where too few could be
 * redrawn, the residuals of the model. They under-cover, which the table of coverage shows.
 *
 * @param shifts of `studentisedOfResiduals`, for plans in blocks
 */
export function taughtIntervals(
  {deal, values}: NumbersDay,
  {fit, shifts, pairs, level, random}: TaughtOptions,
): {percentile: Ends | null; bca: Ends | null} {
  const estimate = fit.coefficients[fit.qr.p - 1];
  const {replicates, influence} = pairs === null ? ofResiduals() : pairs ? ofPairs() : ofArms();
  const distribution = drawnDistribution(replicates);
  const percentile = percentileInterval(distribution, {level});
  return {
    percentile,
    bca: bcaInterval(distribution, {estimate, acceleration: accelerationOf(influence), level}),
  };

  function ofArms() {
    const arms = armValues(deal, values);
    const [baseline, changed] = arms.map(arm => redrawnMeans(arm, shifts.length, random));
    return {
      replicates: changed.map((mean, r) => mean - baseline[r]),
      influence: [...influenceOfMean(arms[0], -1), ...influenceOfMean(arms[1], 1)],
    };
  }

  function ofPairs() {
    const differences: number[] = [];
    for (let i = 0; i < deal.length; i += 2) {
      differences.push(deal[i] === 1 ? values[i] - values[i + 1] : values[i + 1] - values[i]);
    }
    return {
      replicates: redrawnMeans(differences, shifts.length, random),
      influence: influenceOfMean(differences, 1),
    };
  }

  function ofResiduals() {
    const {n, p, q} = fit.qr;
    const weight = invertTriangle(fit.qr)[p * p - 1];
    const influence = Array.from(
      fit.residuals,
      (residual, i) => (weight * q[(p - 1) * n + i] * residual) / (1 - fit.leverages[i]),
    );
    return {replicates: shifts.map(shift => estimate + shift), influence};
  }
}

interface TaughtOptions {
  fit: LeastSquaresFit;
  shifts: Float64Array;
  /** redraw pairs (true), runs within their arm (false) or residuals (null) */
  pairs: boolean | null;
  level: number;
  random: Random;
}

/** Means of samples redrawn with replacement. */
function redrawnMeans(values: readonly number[], nResamples: number, random: Random): Float64Array {
  const table = repeated(Float64Array.from(values), 1);
  const sums = new Float64Array(nResamples);
  for (let i = 0; i < values.length; i++) random.addPickedNumbers(table, sums);
  return sums.map(sum => sum / values.length);
}

function armValues(deal: Deal, values: Float64Array): [number[], number[]] {
  const arms: [number[], number[]] = [[], []];
  for (let i = 0; i < deal.length; i++) arms[deal[i]].push(values[i]);
  return arms;
}

/** What each value does to the mean when it is left out, over n: (value − mean)/n, times the sign of its arm. */
function influenceOfMean(values: readonly number[], sign: 1 | -1): number[] {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
  return values.map(value => (sign * (value - mean)) / values.length);
}

/** ΣU³ / 6(ΣU²)^1.5 (Efron and Tibshirani 1993, eq. 14.15). */
function accelerationOf(influence: readonly number[]): number {
  let cubes = 0;
  let squares = 0;
  for (const value of influence) {
    cubes += value ** 3;
    squares += value ** 2;
  }
  return squares === 0 ? 0 : cubes / (6 * squares ** 1.5);
}
