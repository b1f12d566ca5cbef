import {requireSeries} from "./check.ts";
import {firstNotBefore, valueInStep} from "./interpolate.ts";

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
/** Points at which a lag is judged in the fine search. */
const FINE_POINTS = 4000;
/** Each refinement looks at so many lags to both sides and narrows the spacing by as much. */
const REFINE = 8;
/** Spacing of lags at which the parabola through three of them takes over, in steps of the finer series. */
const PARABOLA_STEPS = 0.25;
/** Peaks of the coarse search that are refined: repeats of one pull lie close to each other in correlation. */
const PEAKS = 6;

/**
 * Lag and scale between two recordings of the same quantity with different clocks, by the peak of the correlation of both
 * on a common grid, the second interpolated linearly at every lag; a parabola through the peak gives the part of a sample.
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

  // coarse: both on grids of one spacing, every lag of whole steps
  const gridA = onGrid(timeA, a, stepS, maxGapS);
  const gridB = onGrid(timeB, b, stepS, maxGapS);
  const coarse: {lagS: number; r: number}[] = [];
  for (let shift = 1 - gridA.length; shift < gridB.length; shift++) {
    const {r} = correlate(gridA, i => gridB[i + shift] ?? Number.NaN, stepS, limits);
    coarse.push({lagS: timeB[0] - timeA[0] + shift * stepS, r});
  }
  const peaks = coarse
    .filter(({r}, k) => r > Number.NEGATIVE_INFINITY && !(coarse[k - 1]?.r > r) && !(coarse[k + 1]?.r >= r))
    .sort((p, q) => q.r - p.r)
    .slice(0, PEAKS);
  if (peaks.length === 0) return null;

  // fine: the first series at its own density, the second wherever the lag falls
  const fineS = Math.max(lengthS(timeA) / FINE_POINTS, lengthS(timeA) / (timeA.length - 1));
  const fineA = onGrid(timeA, a, fineS, maxGapS);
  const finerStepS = Math.min(lengthS(timeA) / (timeA.length - 1), lengthS(timeB) / (timeB.length - 1));
  const at = (lagS: number) =>
    correlate(fineA, i => valueAt(timeB, b, timeA[0] + i * fineS + lagS, maxGapS), fineS, limits);
  const refined = peaks
    .map(({lagS}) => refine(lagS, stepS, finerStepS * PARABOLA_STEPS, at))
    .sort((p, q) => q.r - p.r);
  const [best] = refined;
  if (!(best.r > Number.NEGATIVE_INFINITY)) return null;
  const other = refined.find(
    ({lagS, r}) => Math.abs(lagS - best.lagS) > 2 * stepS && r > Number.NEGATIVE_INFINITY,
  );
  const {r, count, scale} = at(best.lagS);
  return {
    lagS: best.lagS,
    lagUS: lagUncertainty(fineA, i => valueAt(timeB, b, timeA[0] + i * fineS + best.lagS, maxGapS), fineS),
    scale,
    correlation: r,
    runnerUp: other?.r ?? null,
    overlapS: count * fineS,
  };
}

/** Narrows the lags around a peak, then takes the top of the parabola through the last three. */
function refine(
  aroundS: number,
  spacingS: number,
  finestS: number,
  at: (lagS: number) => {r: number},
): {lagS: number; r: number} {
  let best = {lagS: aroundS, r: at(aroundS).r};
  let spacing = spacingS;
  while (spacing > finestS) {
    spacing /= REFINE;
    const middle = best.lagS;
    for (let k = -REFINE; k <= REFINE; k++) {
      const {r} = at(middle + k * spacing);
      if (r > best.r) best = {lagS: middle + k * spacing, r};
    }
  }
  const [before, after] = [at(best.lagS - spacing).r, at(best.lagS + spacing).r];
  const bend = before - 2 * best.r + after;
  if (!(bend < 0 && before <= best.r && after <= best.r)) return best; // an end of the lags that overlap enough
  const lagS = best.lagS + (spacing * (before - after)) / (2 * bend);
  return {lagS, r: at(lagS).r};
}

/** Pearson correlation of the points that both have, −∞ where they are too few or too much alike. */
function correlate(
  a: Float64Array,
  bAt: (i: number) => number,
  stepS: number,
  {leastS, minSpread}: {leastS: number; minSpread: number},
): {r: number; count: number; scale: number} {
  let [count, sumA, sumB, sumAA, sumBB, sumAB] = [0, 0, 0, 0, 0, 0];
  for (let i = 0; i < a.length; i++) {
    const other = bAt(i);
    if (!(Number.isFinite(a[i]) && Number.isFinite(other))) continue;
    count++;
    sumA += a[i];
    sumB += other;
    sumAA += a[i] * a[i];
    sumBB += other * other;
    sumAB += a[i] * other;
  }
  const varA = sumAA / count - (sumA / count) ** 2;
  const varB = sumBB / count - (sumB / count) ** 2;
  const least = Math.max(minSpread ** 2, 1e-12 * (sumAA / count)); // rounding of the two sums is no spread
  if (count < 3 || count * stepS < leastS || !(varA > least && varB > Math.max(minSpread ** 2, 0)))
    return {r: Number.NEGATIVE_INFINITY, count, scale: Number.NaN};
  const covariance = sumAB / count - (sumA / count) * (sumB / count);
  return {r: covariance / Math.sqrt(varA * varB), count, scale: sumAB / sumBB};
}

/**
 * Least squares for a small shift: u² = σ²/Σ(db/dt)², σ² the variance of what a straight line between both leaves, made larger by
 * (1 + ρ)/(1 − ρ) for residuals whose neighbours correlate by ρ.
 */
function lagUncertainty(a: Float64Array, bAt: (i: number) => number, stepS: number): number {
  const rows: {a: number; b: number; slope: number}[] = [];
  for (let i = 1; i + 1 < a.length; i++) {
    const row = {a: a[i], b: bAt(i), slope: (bAt(i + 1) - bAt(i - 1)) / (2 * stepS)};
    if (Object.values(row).every(Number.isFinite)) rows.push(row);
  }
  const mean = (pick: (row: (typeof rows)[number]) => number) =>
    rows.reduce((sum, row) => sum + pick(row), 0) / rows.length;
  const [meanA, meanB] = [mean(row => row.a), mean(row => row.b)];
  const gain = mean(row => (row.a - meanA) * (row.b - meanB)) / mean(row => (row.b - meanB) ** 2);
  const residuals = rows.map(row => row.a - meanA - gain * (row.b - meanB));
  const variance = residuals.reduce((sum, e) => sum + e * e, 0) / Math.max(1, rows.length - 3);
  const alike = residuals.reduce((sum, e, i) => sum + (i ? e * residuals[i - 1] : 0), 0);
  const rho = variance > 0 ? Math.min(Math.max(alike / (variance * rows.length), 0), 0.99) : 0;
  const information = rows.reduce((sum, row) => sum + (gain * row.slope) ** 2, 0);
  const u = Math.sqrt(((variance / information) * (1 + rho)) / (1 - rho));
  return Number.isFinite(u) ? u : 0; // identical series leave nothing
}

function onGrid(
  timeS: ArrayLike<number>,
  values: ArrayLike<number>,
  stepS: number,
  maxGapS: number,
): Float64Array {
  const points = Math.floor((timeS[timeS.length - 1] - timeS[0]) / stepS + 1e-9) + 1; // the last one may fall short by rounding
  return Float64Array.from({length: points}, (_, i) => valueAt(timeS, values, timeS[0] + i * stepS, maxGapS));
}

/** Value on the straight line between two samples, NaN outside the series and in a gap. */
function valueAt(timeS: ArrayLike<number>, values: ArrayLike<number>, atS: number, maxGapS: number): number {
  if (!(atS >= timeS[0] && atS <= timeS[timeS.length - 1])) return Number.NaN;
  const i = Math.max(1, firstNotBefore(timeS, atS));
  return timeS[i] - timeS[i - 1] > maxGapS ? Number.NaN : valueInStep(timeS, values, i, atS);
}
