import {type LeastSquaresFit, termIndex} from "./least-squares.ts";
import {invertTriangle} from "./qr.ts";
import type {Random} from "./random.ts";
import {countMultisets, forEachMultiset} from "./resamples.ts";

/** An observation with a leverage this close to 1 fits itself; it has no residual to resample. */
const FITS_ITSELF = 1e-9;
/** Redrawn errors that leave less than this part of their sum of squares are fitted exactly: no spread to studentise by. */
const NO_SPREAD = 1e-12;
/** Observations whose rows of Q agree up to this have the same place in the model. */
const SAME_ROW = 1e-10;

/** What redrawn residuals make of one coefficient. */
export interface RedrawnErrors {
  /** shift of the coefficient by redrawn residuals scaled to equal variance */
  shifts: Float64Array;
  /** the same redraws with the residuals as they are */
  plainShifts: Float64Array;
  /** residual sum of squares of the refit to the scaled ones; 0 where it fits exactly */
  squares: Float64Array;
  /** probability of each; null where all weigh the same */
  weights: Float64Array | null;
}

/** Residuals to redraw and how they enter the coefficient. */
export interface ErrorPool {
  fit: LeastSquaresFit;
  /** residuals over √(1 − leverage), centred */
  scaled: Float64Array;
  /** the same residuals as they are, centred */
  plain: Float64Array;
  /** how each observation enters the coefficient: row of R⁻¹Qᵀ */
  weights: Float64Array;
}

/** Residuals of a fit, those of observations that fit themselves left out. */
export function errorPool(caller: string, fit: LeastSquaresFit, name: string): ErrorPool {
  const j = termIndex(caller, fit, name);
  const {residuals, leverages} = fit;
  const kept = Array.from(residuals, (_, i) => i).filter(i => 1 - leverages[i] > FITS_ITSELF);
  return {
    fit,
    scaled: centred(kept.map(i => residuals[i] / Math.sqrt(1 - leverages[i]))),
    plain: centred(kept.map(i => residuals[i])),
    weights: coefficientWeights(fit, j),
  };
}

/** `nResamples` redraws by lot. */
export function drawErrors(pool: ErrorPool, nResamples: number, random: Random): RedrawnErrors {
  const {n, p, q} = pool.fit.qr;
  const {scaled, plain, weights} = pool;
  const errors = new Float64Array(n);
  const result = emptyErrors(nResamples);
  for (let resample = 0; resample < nResamples; resample++) {
    let squares = 0;
    let shift = 0;
    let plainShift = 0;
    for (let i = 0; i < n; i++) {
      const pick = random.integer(scaled.length);
      const error = scaled[pick];
      errors[i] = error;
      squares += error * error;
      shift += weights[i] * error;
      plainShift += weights[i] * plain[pick];
    }
    let left = squares; // |e*|² − |Qᵀe*|²
    for (let k = 0; k < p; k++) {
      let part = 0;
      for (let i = 0, at = k * n; i < n; i++) part += q[at + i] * errors[i];
      left -= part * part;
    }
    result.shifts[resample] = shift;
    result.plainShifts[resample] = plainShift;
    result.squares[resample] = left > NO_SPREAD * squares ? left : 0;
  }
  return result;
}

/**
 * Every redraw with its probability, or null where there are more than `most`.
 *
 * Observations with the same place in the model may exchange their redraws without a change, so only what was drawn how often for
 * each such group counts: 56² for two means of three, nⁿ where every place is its own.
 */
export function listErrors(pool: ErrorPool, most: number): RedrawnErrors | null {
  const {fit, scaled, plain, weights} = pool;
  const {n, p, q} = fit.qr;
  const groups = likeRows(fit);
  const count = groups.reduce((product, group) => product * countMultisets(scaled.length, group.length), 1);
  if (!(count <= most)) return null;
  const tables = groups.map(group => sumsOf(scaled, plain, group.length));
  const result = {...emptyErrors(count), weights: new Float64Array(count)};
  const parts = new Float64Array(p * (groups.length + 1));
  let at = 0;
  const place = (
    g: number,
    from: {shift: number; plainShift: number; squares: number; weight: number},
  ): void => {
    const before = g * p;
    if (g === groups.length) {
      let left = from.squares;
      for (let k = 0; k < p; k++) left -= parts[before + k] ** 2;
      result.shifts[at] = from.shift;
      result.plainShifts[at] = from.plainShift;
      result.squares[at] = left > NO_SPREAD * from.squares ? left : 0;
      result.weights[at++] = from.weight;
      return;
    }
    const row = groups[g][0];
    for (const {sum, plainSum, squares, weight} of tables[g]) {
      for (let k = 0; k < p; k++) parts[before + p + k] = parts[before + k] + q[k * n + row] * sum;
      place(g + 1, {
        shift: from.shift + weights[row] * sum,
        plainShift: from.plainShift + weights[row] * plainSum,
        squares: from.squares + squares,
        weight: from.weight * weight,
      });
    }
  };
  place(0, {shift: 0, plainShift: 0, squares: 0, weight: 1});
  return result;
}

/** Observations in groups of the same row of Q. */
function likeRows({qr: {n, p, q}}: LeastSquaresFit): number[][] {
  const groups: number[][] = [];
  for (let i = 0; i < n; i++) {
    const like = groups.find(([first]) => {
      for (let k = 0; k < p; k++) if (Math.abs(q[k * n + i] - q[k * n + first]) > SAME_ROW) return false;
      return true;
    });
    if (like) like.push(i);
    else groups.push([i]);
  }
  return groups;
}

interface Sums {
  sum: number;
  plainSum: number;
  squares: number;
  weight: number;
}

/** Sums of every multiset of some draws, with its probability. */
function sumsOf(scaled: Float64Array, plain: Float64Array, draws: number): Sums[] {
  const table: Sums[] = [];
  const visit = (counts: Uint8Array, weight: number): void => {
    const sums = {sum: 0, plainSum: 0, squares: 0, weight};
    counts.forEach((count, i) => {
      sums.sum += count * scaled[i];
      sums.plainSum += count * plain[i];
      sums.squares += count * scaled[i] ** 2;
    });
    table.push(sums);
  };
  forEachMultiset(scaled.length, visit, draws);
  return table;
}

function emptyErrors(n: number): RedrawnErrors {
  return {
    shifts: new Float64Array(n),
    plainShifts: new Float64Array(n),
    squares: new Float64Array(n),
    weights: null,
  };
}

function centred(values: readonly number[]): Float64Array {
  const centre = values.reduce((sum, value) => sum + value, 0) / Math.max(1, values.length);
  return Float64Array.from(values, value => value - centre);
}

function coefficientWeights({qr}: LeastSquaresFit, j: number): Float64Array {
  const {n, p, q} = qr;
  const inverse = invertTriangle(qr);
  const weights = new Float64Array(n);
  for (let k = j; k < p; k++) for (let i = 0; i < n; i++) weights[i] += inverse[j * p + k] * q[k * n + i];
  return weights;
}
