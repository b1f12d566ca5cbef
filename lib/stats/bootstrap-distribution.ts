import {normalQuantile} from "./distributions.ts";
import {selectInPlace} from "./select.ts";
import {plainMean, plainVariance} from "./summary.ts";

/** The bootstrap distribution of a statistic, complete or drawn. */
export interface BootstrapDistribution {
  /** complete: the different values, ascending; drawn: every draw, in any order, and reading a quantile changes the order */
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

/** Smallest and largest value. */
function rangeOf({values, cumulative}: BootstrapDistribution): {least: number; most: number} {
  if (cumulative !== null) return {least: values[0], most: values[values.length - 1]};
  let least = values[0];
  let most = values[0];
  for (let i = 1; i < values.length; i++) {
    const value = values[i];
    if (value < least) least = value;
    if (value > most) most = value;
  }
  return {least, most};
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
  return {values: new Float64Array(replicates), cumulative: null};
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
  const {least, most} = rangeOf(distribution);
  const tie = TIE * (most - least);
  const from = value - tie;
  const to = value + tie;
  let below = 0;
  let upTo = 0;
  if (cumulative === null) {
    for (let i = 0; i < values.length; i++) {
      if (values[i] < from) below++;
      if (values[i] < to) upTo++;
    }
    return {below: below / values.length, at: (upTo - below) / values.length};
  }
  for (let i = 0; i < values.length && values[i] < to; i++) {
    upTo = cumulative[i];
    if (values[i] < from) below = cumulative[i];
  }
  return {below, at: upTo - below};
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
  if (whole < 1) return {value: selectInPlace(values, 0), clamped: true};
  if (whole >= n) return {value: selectInPlace(values, n - 1), clamped: place > n + ROUNDING * n};
  const value = selectInPlace(values, whole - 1);
  if (place - whole <= ROUNDING * n) return {value, clamped: false};
  let next = values[whole]; // the smallest of those after it
  for (let i = whole + 1; i < n; i++) if (values[i] < next) next = values[i];
  const from = normalQuantile(whole / (n + 1));
  const share = (normalQuantile(p) - from) / (normalQuantile((whole + 1) / (n + 1)) - from);
  return {value: value + share * (next - value), clamped: false};
}

/** Whether all of the distribution is one value, so that it tells no spread. */
export function isPoint({values}: BootstrapDistribution): boolean {
  return values.every(value => value === values[0]);
}
