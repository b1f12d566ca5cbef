import {requireSeries} from "./check.ts";
import {correlate, type GridPair, gridPair, type Limits, lagOf, valueAt} from "./grids.ts";
import {smoothedSlope} from "./slope.ts";

/** How two recordings of the same quantity lie to each other. */
export interface Alignment {
  /** time of the second series minus time of the first, for the same moment [s] */
  lagS: number;
  /** standard uncertainty of `lagS` [s], from the residuals and how much neighbouring ones are alike */
  lagUS: number;
  /** first series over second, by least squares through zero */
  scale: number;
  /** Pearson correlation over the overlap */
  correlation: number;
  /** correlation at the best lag that is not a neighbour of `lagS`, or null where none is tried or none is defined */
  runnerUp: number | null;
  /** length of the overlap [s] */
  overlapS: number;
}

/** Limits of an alignment. */
export interface AlignOptions {
  /** least share of the shorter series that must overlap; default 0.5 */
  minOverlap?: number;
  /** least standard deviation of both series in the overlap, in their unit: a constant correlates with nothing; default 0 */
  minSpread?: number;
  /** nothing is interpolated across a longer step [s]; default 5 s */
  maxGapS?: number;
}

/** Points of the shorter series on the coarse grid: enough to show the shape of a pull. */
const COARSE_POINTS = 60;
/** No coarser than this [s], the time in which a car's speed changes little … */
const COARSEST_S = 1;
/** … unless both series together are longer than so many points: the search is quadratic. */
const MOST_POINTS = 6000;
/** Points of the fine grid of both series together, at most. */
const FINE_POINTS = 80_000;
/** The parabola goes through the correlations within this of the peak [s]: over it a car's speed is smooth. */
const PARABOLA_S = 0.3;
/** Half window of the slope that the uncertainty rests on [s]: noise is no slope. */
const SLOPE_HALF_WINDOW_S = 0.5;

/** Peaks of the coarse search that are refined: repeats of one pull lie close to each other in correlation. */
const PEAKS = 6;

/**
 * Lag and scale between two recordings of the same quantity with different clocks: both on grids of one spacing, the
 * correlation at every lag of whole steps, and a parabola through its peak for the part of a step. The grids stay in place while
 * the lag changes: interpolating anew at every lag would prefer lags halfway between samples, where it takes out most noise.
 *
 * The lag of noise-free speeds at 10 Hz comes out to some 0.002 s. Held or delayed samples shift it by their mean age, which
 * the series themselves cannot tell. Repeats of one manoeuvre correlate nearly as well at the wrong lag: see `runnerUp`.
 *
 * @param timeA sample times of the first series [s], strictly increasing, length ≥ 2
 * @param a     its values, finite
 * @param timeB sample times of the second series [s], strictly increasing, length ≥ 2
 * @param b     its values, finite, in the unit of `a`
 * @returns null where no lag has enough overlap and spread
 * @throws {RangeError} not a series, an option out of range
 */
export function alignSeries(
  timeA: ArrayLike<number>,
  a: ArrayLike<number>,
  timeB: ArrayLike<number>,
  b: ArrayLike<number>,
  {minOverlap = 0.5, minSpread = 0, maxGapS = 5}: AlignOptions = {},
): Alignment | null {
  requireSeries("alignSeries", timeA, a);
  requireSeries("alignSeries", timeB, b);
  if (!(minOverlap > 0 && minOverlap <= 1))
    throw new RangeError(`alignSeries: minOverlap must be above 0 and at most 1, found ${minOverlap}`);
  const lengthS = (timeS: ArrayLike<number>) => timeS[timeS.length - 1] - timeS[0];
  const shorterS = Math.min(lengthS(timeA), lengthS(timeB));
  const stepS = Math.max(
    Math.min(shorterS / COARSE_POINTS, COARSEST_S),
    (lengthS(timeA) + lengthS(timeB)) / MOST_POINTS,
  );
  const limits = {leastS: minOverlap * shorterS, minSpread};

  const coarse = gridPair([timeA, a], [timeB, b], stepS, maxGapS);
  const all = Array.from({length: coarse.last - coarse.first + 1}, (_, k) => coarse.first + k);
  const tried = all.map(shift => correlate(coarse, shift, limits).r);
  const peaks = all
    .filter(
      (_, k) =>
        tried[k] > Number.NEGATIVE_INFINITY && !(tried[k - 1] > tried[k]) && !(tried[k + 1] >= tried[k]),
    )
    .sort((p, q) => tried[q - coarse.first] - tried[p - coarse.first])
    .slice(0, PEAKS);

  const meanStepS = Math.min(lengthS(timeA) / (timeA.length - 1), lengthS(timeB) / (timeB.length - 1));
  const fineS = Math.max(meanStepS, (lengthS(timeA) + lengthS(timeB)) / FINE_POINTS);
  const fine = gridPair([timeA, a], [timeB, b], Math.min(fineS, stepS), maxGapS);
  const found = peaks
    .map(shift => finePeak(fine, lagOf(coarse, shift), stepS, limits))
    .filter(peak => peak !== null)
    .sort((p, q) => q.r - p.r);
  if (found.length === 0) return null;
  const [{lagS, r, count, shift}] = found;
  const other = found.find(peak => Math.abs(peak.lagS - lagS) > 2 * stepS);
  return {
    lagS,
    ...scaleAt(fine, shift, smoothedSlope(timeB, b, SLOPE_HALF_WINDOW_S), timeB),
    correlation: Math.min(1, r),
    runnerUp: other ? Math.min(1, other.r) : null,
    overlapS: count * fine.stepS,
  };
}

/** The peak of correlation within one coarse step of a lag, with its part of a step; null where nothing overlaps enough. */
function finePeak(
  grids: GridPair,
  aroundS: number,
  withinS: number,
  limits: Limits,
): {lagS: number; r: number; count: number; shift: number} | null {
  const middle = Math.round((aroundS - grids.zeroS) / grids.stepS);
  const reach = Math.ceil(withinS / grids.stepS);
  let best = {shift: middle, r: Number.NEGATIVE_INFINITY, count: 0};
  for (let shift = middle - reach; shift <= middle + reach; shift++) {
    const {r, count} = correlate(grids, shift, limits);
    if (r > best.r) best = {shift, r, count};
  }
  if (best.r === Number.NEGATIVE_INFINITY) return null;
  const half = Math.max(1, Math.round(PARABOLA_S / grids.stepS));
  const around = Array.from(
    {length: 2 * half + 1},
    (_, k) => correlate(grids, best.shift + k - half, limits).r,
  );
  return {...best, lagS: lagOf(grids, best.shift) + parabolaTop(around, half) * grids.stepS};
}

/** Place of the top of the least-squares parabola through values at −half … half; 0 where it has none. */
function parabolaTop(values: readonly number[], half: number): number {
  if (!values.every(Number.isFinite)) return 0; // an end of the lags that overlap enough
  // at places k = −m … m: Σk² = m(m+1)(2m+1)/3, and k² less its mean is orthogonal to constant and k
  const meanSquare = (half * (half + 1)) / 3;
  let [linear, square, normLinear, normSquare] = [0, 0, 0, 0];
  values.forEach((value, i) => {
    const k = i - half;
    linear += k * value;
    normLinear += k * k;
    square += (k * k - meanSquare) * value;
    normSquare += (k * k - meanSquare) ** 2;
  });
  const bend = square / normSquare;
  if (!(bend < 0)) return 0;
  return Math.min(Math.max(-linear / normLinear / (2 * bend), -1), 1);
}

/**
 * Scale by least squares through zero, and the uncertainty of the lag by least squares for a small shift:
 * u² = σ²/Σ(db/dt)², σ² the variance of what a straight line between both leaves, made larger by (1 + ρ)/(1 − ρ) for residuals
 * whose neighbours correlate by ρ.
 */
function scaleAt(
  {a, b, stepS}: GridPair,
  shift: number,
  slopeB: Float64Array,
  timeB: ArrayLike<number>,
): {scale: number; lagUS: number} {
  const rows: {a: number; b: number; slope: number}[] = [];
  for (let i = Math.max(0, -shift); i < Math.min(a.length, b.length - shift); i++) {
    const slope = valueAt(timeB, slopeB, timeB[0] + (i + shift) * stepS, Number.POSITIVE_INFINITY);
    if (Number.isFinite(a[i] + b[i + shift] + slope)) rows.push({a: a[i], b: b[i + shift], slope});
  }
  const sum = (of: (row: (typeof rows)[number], i: number) => number) =>
    rows.reduce((total, row, i) => total + of(row, i), 0);
  const [meanA, meanB] = [sum(row => row.a) / rows.length, sum(row => row.b) / rows.length];
  const gain = sum(row => (row.a - meanA) * (row.b - meanB)) / sum(row => (row.b - meanB) ** 2);
  const residuals = rows.map(row => row.a - meanA - gain * (row.b - meanB));
  const variance = sum((_, i) => residuals[i] ** 2) / Math.max(1, rows.length - 3);
  const alike = sum((_, i) => (i > 0 ? residuals[i] * residuals[i - 1] : 0)) / rows.length;
  const rho = variance > 0 ? Math.min(Math.max(alike / variance, 0), 0.99) : 0;
  const u = Math.sqrt(((variance / sum(row => (gain * row.slope) ** 2)) * (1 + rho)) / (1 - rho));
  return {
    scale: sum(row => row.a * row.b) / sum(row => row.b ** 2),
    lagUS: Number.isFinite(u) ? u : 0, // no slope anywhere leaves no lag to be wrong about
  };
}
