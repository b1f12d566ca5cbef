import {firstNotBefore, valueInStep} from "./interpolate.ts";

/** Variances below this are rounding, whatever the unit. */
const NO_VARIANCE = 1e-100;

/** Both series on grids of one spacing, each from its own first sample on. */
export interface GridPair {
  a: Float64Array;
  b: Float64Array;
  stepS: number;
  /** lag of shift 0 [s]; shift k pairs place i of `a` with place i + k of `b` */
  zeroS: number;
  /** first and last shift at which they overlap */
  first: number;
  last: number;
}

/** What a correlation needs to mean anything: overlap [s], and standard deviation of both series in their unit. */
export interface Limits {
  leastS: number;
  minSpread: number;
}

/** Puts both series on grids; NaN in gaps. */
export function gridPair(
  [timeA, a]: [ArrayLike<number>, ArrayLike<number>],
  [timeB, b]: [ArrayLike<number>, ArrayLike<number>],
  stepS: number,
  maxGapS: number,
): GridPair {
  const gridA = onGrid(timeA, a, stepS, maxGapS);
  const gridB = onGrid(timeB, b, stepS, maxGapS);
  return {
    a: gridA,
    b: gridB,
    stepS,
    zeroS: timeB[0] - timeA[0],
    first: 1 - gridA.length,
    last: gridB.length - 1,
  };
}

/** Lag at a shift [s]. */
export function lagOf({zeroS, stepS}: GridPair, shift: number): number {
  return zeroS + shift * stepS;
}

/** Pearson correlation of the places that both have, −∞ where they are too few or too much alike. */
export function correlate(
  {a, b, stepS}: GridPair,
  shift: number,
  {leastS, minSpread}: Limits,
): {r: number; count: number} {
  const from = Math.max(0, -shift);
  const to = Math.min(a.length, b.length - shift);
  let [count, sumA, sumB, sumAA, sumBB, sumAB] = [0, 0, 0, 0, 0, 0];
  for (let i = from; i < to; i++) {
    const [one, other] = [a[i], b[i + shift]];
    if (!(one - other < Number.POSITIVE_INFINITY)) continue; // NaN in a gap
    count++;
    sumA += one;
    sumB += other;
    sumAA += one * one;
    sumBB += other * other;
    sumAB += one * other;
  }
  const varA = sumAA / count - (sumA / count) ** 2;
  const varB = sumBB / count - (sumB / count) ** 2;
  // rounding of the two sums is no spread
  const least = (sumOfSquares: number) =>
    Math.max(minSpread ** 2, 1e-12 * (sumOfSquares / count), NO_VARIANCE);
  if (count < 3 || count * stepS < leastS || !(varA > least(sumAA) && varB > least(sumBB)))
    return {r: Number.NEGATIVE_INFINITY, count};
  return {r: (sumAB / count - (sumA / count) * (sumB / count)) / Math.sqrt(varA * varB), count};
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
export function valueAt(
  timeS: ArrayLike<number>,
  values: ArrayLike<number>,
  atS: number,
  maxGapS: number,
): number {
  if (!(atS >= timeS[0] && atS <= timeS[timeS.length - 1])) return Number.NaN;
  const i = Math.max(1, firstNotBefore(timeS, atS));
  return timeS[i] - timeS[i - 1] > maxGapS ? Number.NaN : valueInStep(timeS, values, i, atS);
}
