import {normalQuantile} from "./distributions.ts";
import {plainMean, plainVariance} from "./summary.ts";

/** The bootstrap distribution of a statistic, complete or drawn. */
export interface BootstrapDistribution {
  /** ascending; different values only where the distribution is complete */
  values: Float64Array;
  /** probability of a value up to this one, last entry 1; null where every value weighs the same */
  cumulative: Float64Array | null;
}

/**
 * Values that differ by less than this part of the whole range are one value: resamples that are the same in
 * exact arithmetic differ by rounding, about 1e-15 of the range.
 */
const TIE = 1e-9;

/** Cumulated probabilities carry rounding of this size. */
const ROUNDING = 1e-12;

/** Difference up to which two values of the distribution are one. */
function tieOf(values: Float64Array): number {
  return TIE * (values[values.length - 1] - values[0]);
}

/**
 * The complete distribution from every resample with its probability.
 *
 * @param values  statistic by resample, at least one, finite
 * @param weights probability of each, positive; scaled to sum 1
 */
export function completeDistribution(values: Float64Array, weights: Float64Array): BootstrapDistribution {
  const order = Uint32Array.from(values, (_, i) => i).sort((i, j) => values[i] - values[j]);
  const tie = TIE * (values[order[order.length - 1]] - values[order[0]]);
  const distinct = new Float64Array(values.length);
  const cumulative = new Float64Array(values.length);
  let n = 0;
  let sum = 0;
  for (const i of order) {
    sum += weights[i];
    if (n === 0 || values[i] - distinct[n - 1] > tie) distinct[n++] = values[i];
    cumulative[n - 1] = sum;
  }
  for (let i = 0; i < n; i++) cumulative[i] /= sum;
  cumulative[n - 1] = 1;
  return {values: distinct.slice(0, n), cumulative: cumulative.slice(0, n)};
}

/** The distribution from R ≥ 1 resamples drawn by lot. */
export function drawnDistribution(replicates: ArrayLike<number>): BootstrapDistribution {
  return {values: Float64Array.from(replicates).sort(), cumulative: null};
}

/**
 * Standard deviation of replicates in any order: about their weighted mean, or with divisor R − 1 where they are draws
 * without weights. The weights sum to 1.
 */
export function spreadOf(values: Float64Array, weights: Float64Array | null): number {
  if (weights === null) {
    return values.length < 2 ? 0 : Math.sqrt(plainVariance(values, plainMean(values)));
  }
  let mean = 0;
  for (let i = 0; i < values.length; i++) mean += weights[i] * values[i];
  let squares = 0;
  for (let i = 0; i < values.length; i++) squares += weights[i] * (values[i] - mean) ** 2;
  return Math.sqrt(squares);
}

/** Probability below a value and at it, ties by rounding counted as at it. */
export function sharesAt(distribution: BootstrapDistribution, value: number): {below: number; at: number} {
  const {values, cumulative} = distribution;
  const tie = tieOf(values);
  const upTo = (end: number): number => {
    let low = 0;
    let high = values.length;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (values[middle] < end) low = middle + 1;
      else high = middle;
    }
    if (low === 0) return 0;
    return cumulative === null ? low / values.length : cumulative[low - 1];
  };
  const below = upTo(value - tie);
  return {below, at: upTo(value + tie) - below};
}

/**
 * Value that the distribution stays below with probability p.
 *
 * Complete: the smallest value whose cumulated probability reaches p. Drawn: order statistic (R + 1)p, between two of
 * them interpolated on the scale of normal quantiles (A. C. Davison and D. V. Hinkley, Bootstrap Methods and their
 * Application, 1997, eq. 5.8). `clamped`: p lies beyond the outermost order statistic, which stands in for it.
 */
export function distributionQuantile(
  {values, cumulative}: BootstrapDistribution,
  p: number,
): {value: number; clamped: boolean} {
  const n = values.length;
  if (cumulative !== null) {
    let low = 0;
    let high = n - 1;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (cumulative[middle] < p - ROUNDING) low = middle + 1;
      else high = middle;
    }
    return {value: values[low], clamped: false};
  }
  const place = (n + 1) * p;
  const whole = Math.floor(place + ROUNDING * n);
  if (whole < 1) return {value: values[0], clamped: true};
  if (whole >= n) return {value: values[n - 1], clamped: place > n + ROUNDING * n};
  if (place - whole <= ROUNDING * n) return {value: values[whole - 1], clamped: false};
  const from = normalQuantile(whole / (n + 1));
  const share = (normalQuantile(p) - from) / (normalQuantile((whole + 1) / (n + 1)) - from);
  return {value: values[whole - 1] + share * (values[whole] - values[whole - 1]), clamped: false};
}

/** Whether all of the distribution is one value, so that it tells no spread. */
export function isPoint({values}: BootstrapDistribution): boolean {
  return values[0] === values[values.length - 1];
}
