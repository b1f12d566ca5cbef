import {SplineBasis} from "./spline.ts";

/** Heights of one run along the common track; n values each, NaN = none. */
export interface RunHeights {
  placeM: ArrayLike<number>;
  heightM: ArrayLike<number>;
}

/** How a road may bend. */
export interface ProfileOptions {
  /** distance of the spline's knots [m]; default 40: bends of height shorter than some 100 m are not followed */
  knotSpacingM?: number;
  /** roughness that a road is expected to have: spread of the change of grade with place [1/m] */
  curvaturePerM?: number;
}

/** The height of a road by place, common to all runs. */
export interface RoadProfile {
  /** places that a run has heights for [m] */
  fromM: number;
  toM: number;
  knotSpacingM: number;
  /** heights of the profile at a place [m]; outside the places covered it goes on straight */
  heightAt(placeM: number): number;
  /** rise of the profile towards growing places; outside the places covered that of the end */
  gradeAt(placeM: number): number;
  /** the same with one run's share of the error added, for `varianceOf` */
  gradeWith(run: number, placeM: number): number;
  /** standard uncertainty of the grade at a place, from the spread of the runs about the profile; null with one run */
  gradeUAt(placeM: number): number | null;
  /**
   * Variance of anything computed from the profile, by its change with each run's share of the error (the jackknife's idea,
   * first order); null with one run. Degrees of freedom: runs − 1.
   */
  varianceOf(of: (gradeAt: (placeM: number) => number) => number): number | null;
  /** height of each run above the profile [m]; null where it has no heights */
  offsetsM: (number | null)[];
  /** spread of height about profile and offset [m] */
  residualSdM: number;
  /** how far neighbouring blocks of height err alike within a run, 0 … 1 */
  neighbourCorrelation: number;
  /** how many runs it rests on */
  runs: number;
}

const KNOT_SPACING_M = 40;
/** Public roads for 100 km/h have crests and dips of some 3 to 10 km radius, tracks and lanes more: 1/2 km. */
const CURVATURE_PER_M = 5e-4;
/** Heights are averaged over a fourth of the knots' distance: white noise and rounding go, wandering stays. */
const BLOCKS_PER_KNOT = 4;
const FEWEST_BLOCKS = 4;
/** First guess of the error of a block of heights [m]; the third pass no longer moves it. */
const FIRST_NOISE_M = 0.1;
const PASSES = 3;
/** Wandering that is a random walk for the length of a run. */
const MOST_CORRELATION = 0.98;
/** Places for which too few heights tell are held together by this part of the penalty, so that every fit has a solution. */
const TINY = 1e-9;

/**
 * Road profile from the heights of all runs together: height(run, place) = profile(place) + offset(run) + error, the profile a
 * cubic spline with equal knots, penalised by its curvature as a road's would be.
 *
 * Satellite height wanders by metres from run to run and by decimetres within one; the first is the offset, the second
 * averages out over runs and is weighed by how far neighbouring heights err alike, as the residuals show it. Errors within a run
 * hang together, so the uncertainty is not that of samples but comes from what each run adds (K.-Y. Liang and S. L. Zeger, Biometrika 73 (1986) 13), times runs/(runs − 1).
 *
 * @param runs one or more; runs without a height are left out
 * @returns null where no run has heights over 30 m or the runs cover less than two knots
 * @throws {RangeError} spacing or curvature not above zero
 */
export function roadProfile(
  runs: readonly RunHeights[],
  {knotSpacingM = KNOT_SPACING_M, curvaturePerM = CURVATURE_PER_M}: ProfileOptions = {},
): RoadProfile | null {
  if (!(knotSpacingM > 0 && curvaturePerM > 0))
    throw new RangeError(
      `roadProfile: knot spacing ${knotSpacingM} m and curvature ${curvaturePerM}/m must be above 0`,
    );
  const samples = runs.map(run => blocksOf(run, knotSpacingM / BLOCKS_PER_KNOT));
  const used = samples.flatMap((sample, i) => (sample.places.length >= FEWEST_BLOCKS ? [i] : []));
  if (used.length === 0) return null;
  let [fromM, toM] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const i of used) {
    fromM = Math.min(fromM, samples[i].firstM);
    toM = Math.max(toM, samples[i].lastM);
  }
  if (!(toM - fromM >= knotSpacingM)) return null;
  const basis = new SplineBasis(fromM, toM, knotSpacingM);
  const K = basis.size;
  const plain = used.map(i => rowsOf(basis, samples[i], 0));
  let coefficients = new Float64Array(K);
  let factor = new Float64Array(K * K);
  let rows = plain;
  let correlation = 0;
  let noise2 = FIRST_NOISE_M ** 2;
  for (let pass = 0; pass < PASSES; pass++) {
    const system = new Float64Array(K * K);
    const right = new Float64Array(K);
    for (const run of rows) addRows(run, K, system, right);
    basis.addPenalty(system, noise2 / curvaturePerM ** 2, TINY);
    factor = cholesky(system, K);
    coefficients = solve(factor, right, K);
    correlation = neighbourCorrelation(plain.map(run => residualsOf(run, coefficients)));
    rows = used.map(i => rowsOf(basis, samples[i], correlation));
    noise2 = Math.max(1e-6, meanSquare(rows.map(run => residualsOf(run, coefficients))));
  }
  const shares = rows.map(run => {
    const score = new Float64Array(K);
    const residuals = residualsOf(run, coefficients);
    for (const [r, row] of run.rows.entries()) for (const [k, value] of row) score[k] += value * residuals[r];
    return solve(factor, score, K);
  });
  const together = used.length > 1 ? used.length / (used.length - 1) : null;
  const within = (placeM: number) => Math.min(toM, Math.max(fromM, placeM));
  const gradeOf = (c: Float64Array, placeM: number) => basis.slope(c, within(placeM));
  const gradeAt = (placeM: number) => gradeOf(coefficients, placeM);
  const gradeWith = (u: number, placeM: number) => gradeAt(placeM) + gradeOf(shares[u], placeM);
  const heights = used.map(i => meanOf(samples[i].heights));
  const fitted = used.map(i => meanOf(samples[i].places.map(place => basis.valueAt(coefficients, place))));
  const mean = meanOf(heights.map((height, u) => height - fitted[u]));
  return {
    fromM,
    toM,
    knotSpacingM,
    heightAt: placeM => {
      const inside = within(placeM);
      return mean + basis.valueAt(coefficients, inside) + (placeM - inside) * gradeAt(inside);
    },
    gradeAt,
    gradeWith,
    gradeUAt: placeM =>
      together && Math.sqrt(together * shares.reduce((sum, share) => sum + gradeOf(share, placeM) ** 2, 0)),
    varianceOf: of => {
      if (together === null) return null;
      const value = of(gradeAt);
      return (
        together * shares.reduce((sum, _, u) => sum + (of(placeM => gradeWith(u, placeM)) - value) ** 2, 0)
      );
    },
    offsetsM: runs.map((_, i) => {
      const u = used.indexOf(i);
      return u < 0 ? null : heights[u] - fitted[u] - mean;
    }),
    residualSdM: Math.sqrt(meanSquare(plain.map(run => residualsOf(run, coefficients)))),
    neighbourCorrelation: correlation,
    runs: used.length,
  };
}

/** Heights of a run, averaged over blocks of way. */
interface Blocks {
  places: number[];
  heights: number[];
  firstM: number;
  lastM: number;
}

/** A run's rows of the least-squares problem: basis functions with their values, and the height; its offset is taken out. */
interface Rows {
  rows: [k: number, value: number][][];
  heights: number[];
}

function blocksOf({placeM, heightM}: RunHeights, blockM: number): Blocks {
  const sums = new Map<number, {place: number; height: number; count: number}>();
  const blocks: Blocks = {
    places: [],
    heights: [],
    firstM: Number.POSITIVE_INFINITY,
    lastM: Number.NEGATIVE_INFINITY,
  };
  for (let i = 0; i < placeM.length; i++) {
    if (!Number.isFinite(placeM[i]) || !Number.isFinite(heightM[i])) continue;
    const key = Math.floor(placeM[i] / blockM);
    const sum = sums.get(key) ?? {place: 0, height: 0, count: 0};
    sum.place += placeM[i];
    sum.height += heightM[i];
    sum.count++;
    sums.set(key, sum);
    blocks.firstM = Math.min(blocks.firstM, placeM[i]);
    blocks.lastM = Math.max(blocks.lastM, placeM[i]);
  }
  for (const [, {place, height, count}] of [...sums].sort(([a], [b]) => a - b)) {
    blocks.places.push(place / count);
    blocks.heights.push(height / count);
  }
  return blocks;
}

/**
 * Rows of a run for errors of which neighbours correlate by φ: each row less φ times the one before it, the first times √(1 − φ²)
 * (S. J. Prais and C. B. Winsten, 1954); then the run's offset is projected out.
 */
function rowsOf(basis: SplineBasis, {places, heights}: Blocks, phi: number): Rows {
  const first = Math.sqrt(1 - phi * phi);
  const dense = places.map((place, r) => {
    const row = new Float64Array(basis.size);
    const scale = r === 0 ? first : 1;
    basis.each(place, (k, value) => {
      row[k] += scale * value;
    });
    if (r > 0)
      basis.each(places[r - 1], (k, value) => {
        row[k] -= phi * value;
      });
    return row;
  });
  const ones = places.map((_, r) => (r === 0 ? first : 1 - phi));
  const square = ones.reduce((sum, one) => sum + one * one, 0);
  const values = heights.map((height, r) => (r === 0 ? first * height : height - phi * heights[r - 1]));
  const share = values.reduce((sum, value, r) => sum + value * ones[r], 0) / square;
  const means = new Float64Array(basis.size);
  for (const [r, row] of dense.entries())
    for (let k = 0; k < row.length; k++) means[k] += (row[k] * ones[r]) / square;
  return {
    heights: values.map((value, r) => value - share * ones[r]),
    rows: dense.map((row, r) => {
      const entries: [number, number][] = [];
      for (let k = 0; k < row.length; k++) {
        const value = row[k] - means[k] * ones[r];
        if (value !== 0) entries.push([k, value]);
      }
      return entries;
    }),
  };
}

function addRows({rows, heights}: Rows, K: number, normal: Float64Array, right: Float64Array): void {
  for (const [r, row] of rows.entries()) {
    for (const [k, value] of row) {
      right[k] += value * heights[r];
      for (const [m, other] of row) normal[k * K + m] += value * other;
    }
  }
}

function residualsOf({rows, heights}: Rows, coefficients: Float64Array): number[] {
  return rows.map((row, r) => row.reduce((rest, [k, value]) => rest - value * coefficients[k], heights[r]));
}

/** Correlation of neighbouring residuals over all runs. */
function neighbourCorrelation(runs: readonly number[][]): number {
  let [products, squares] = [0, 0];
  for (const residuals of runs)
    for (let r = 1; r < residuals.length; r++) {
      products += residuals[r] * residuals[r - 1];
      squares += (residuals[r] ** 2 + residuals[r - 1] ** 2) / 2;
    }
  return squares > 0 ? Math.min(MOST_CORRELATION, Math.max(0, products / squares)) : 0;
}

function meanSquare(runs: readonly number[][]): number {
  const all = runs.flat();
  return all.reduce((sum, residual) => sum + residual * residual, 0) / Math.max(1, all.length - runs.length);
}

function meanOf(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}

/** Lower triangle L with L Lᵀ = A. */
function cholesky(a: Float64Array, n: number): Float64Array<ArrayBuffer> {
  const l = new Float64Array(n * n);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j <= i; j++) {
      let sum = a[i * n + j];
      for (let k = 0; k < j; k++) sum -= l[i * n + k] * l[j * n + k];
      l[i * n + j] = i === j ? Math.sqrt(Math.max(sum, Number.MIN_VALUE)) : sum / l[j * n + j];
    }
  }
  return l;
}

function solve(l: Float64Array, right: ArrayLike<number>, n: number): Float64Array<ArrayBuffer> {
  const x = Float64Array.from(right);
  for (let i = 0; i < n; i++) {
    for (let k = 0; k < i; k++) x[i] -= l[i * n + k] * x[k];
    x[i] /= l[i * n + i];
  }
  for (let i = n - 1; i >= 0; i--) {
    for (let k = i + 1; k < n; k++) x[i] -= l[k * n + i] * x[k];
    x[i] /= l[i * n + i];
  }
  return x;
}
