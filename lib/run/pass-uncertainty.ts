import {median} from "../stats/quantile.ts";
import type {PassEvidence} from "./pass-evidence.ts";

/** A level read off between two noisy samples has, on average over where it falls, this share of one sample's variance. */
const INTERPOLATED_VARIANCE = 2 / 3;
/** Standard deviation of a normal sample from its median absolute deviation (F. R. Hampel, JASA 69 (1974) 383). */
const MAD_TO_SD = 1.4826;
/** Residuals needed to see noise at all. */
const MIN_RESIDUALS = 4;
/** Noise where too few samples show it [m/s]: about twice what a satellite receiver has in the open. */
const UNSEEN_NOISE_MPS = 0.1;
/** The slope at an end of the band is fitted over this long to either side [s], or over two steps if they are longer. */
const SLOPE_S = 0.5;
/** No end of a pass is taken for flatter than this share of its mean slope; a fit there would be noise. */
const LEAST_SLOPE = 0.2;

/**
 * Standard uncertainty of the time through a band [s].
 *
 *     u² = Σ over both ends of  (2/3 · s² / a²  +  (j h²/8 / a)² / 3  +  H²/12  +  T²/12)
 *
 * with s the noise of speed, a the acceleration at that end, 2/3 the share of a sample's variance that is left in a
 * straight line between two samples (average of f² + (1−f)² over 0 ≤ f ≤ 1); j h²/8 the error of interpolation (see
 * `crossingTime`), taken as the half-width of a rectangle, j the change of acceleration over the pass and h the step at
 * that end; H the time for which values are held, T the step of rounded or shared time stamps, both rectangles.
 *
 * s is the larger of the rounding of speed, q/√12, and the noise seen: each sample against the parabola through its
 * neighbours i − 1, i + 1, i + 2 (third differences, for any spacing), by the median absolute deviation. Noise that
 * is alike over more than three samples is not seen, nor is what a receiver's smoothing hides.
 */
export function elapsedUncertainty(evidence: PassEvidence): number {
  const {pass, timeS, speedMps, speedStepMps, stampS, holdS} = evidence;
  const elapsedS = pass.endS - pass.startS;
  const noise = Math.max(seenNoise(evidence) ?? UNSEEN_NOISE_MPS, speedStepMps / Math.sqrt(12));
  const from = speedAt(timeS, speedMps, pass.startIndex, pass.startS);
  const mean = (speedAt(timeS, speedMps, pass.endIndex, pass.endS) - from) / elapsedS;
  const ends = [
    {index: pass.startIndex, atS: pass.startS},
    {index: pass.endIndex, atS: pass.endS},
  ].map(({index, atS}) => ({
    slope: slopeAt(evidence, atS, mean),
    stepS: timeS[index] - timeS[index - 1],
  }));
  const jerk = Math.abs(ends[1].slope - ends[0].slope) / elapsedS;
  let variance = 0;
  for (const {slope, stepS} of ends) {
    const interpolation = (jerk * stepS * stepS) / 8 / slope;
    variance +=
      (INTERPOLATED_VARIANCE * noise * noise) / (slope * slope) + (interpolation * interpolation) / 3;
    variance += (holdS * holdS + stampS * stampS) / 12;
  }
  return Math.sqrt(variance);
}

/** Samples that carry news: all of them, or where values are held the first of each. */
function newsOf({first, end, changes, holdS}: PassEvidence): number[] {
  return holdS > 0 ? changes : Array.from({length: end - first}, (_, k) => first + k);
}

/** Standard deviation of a sample's speed about a smooth course [m/s], or null where too few samples tell. */
export function seenNoise(evidence: PassEvidence): number | null {
  const {timeS, speedMps} = evidence;
  const news = newsOf(evidence);
  const residuals: number[] = [];
  for (let k = 1; k + 2 < news.length; k++) {
    const [a, i, b, c] = [news[k - 1], news[k], news[k + 1], news[k + 2]];
    const weights = parabolaWeights(timeS[i], timeS[a], timeS[b], timeS[c]);
    const predicted = weights[0] * speedMps[a] + weights[1] * speedMps[b] + weights[2] * speedMps[c];
    const scale = Math.sqrt(1 + weights[0] ** 2 + weights[1] ** 2 + weights[2] ** 2);
    residuals.push(Math.abs(speedMps[i] - predicted) / scale);
  }
  return residuals.length < MIN_RESIDUALS ? null : MAD_TO_SD * median(residuals);
}

/** Weights with which values at a, b, c give the parabola's value at t (Lagrange). */
function parabolaWeights(t: number, a: number, b: number, c: number): [number, number, number] {
  return [
    ((t - b) * (t - c)) / ((a - b) * (a - c)),
    ((t - a) * (t - c)) / ((b - a) * (b - c)),
    ((t - a) * (t - b)) / ((c - a) * (c - b)),
  ];
}

/** Size of the acceleration at a time [m/s²], by a straight line through the samples around it. */
function slopeAt(evidence: PassEvidence, atS: number, meanSlope: number): number {
  const {timeS, speedMps, stepS, holdS} = evidence;
  const reach = Math.max(SLOPE_S, 2 * Math.max(stepS, holdS));
  const near = newsOf(evidence).filter(i => Math.abs(timeS[i] - atS) <= reach);
  const least = LEAST_SLOPE * Math.abs(meanSlope);
  if (near.length < 3) return Math.abs(meanSlope);
  const centreS = near.reduce((sum, i) => sum + timeS[i], 0) / near.length;
  let products = 0;
  let squares = 0;
  for (const i of near) {
    products += (timeS[i] - centreS) * speedMps[i];
    squares += (timeS[i] - centreS) ** 2;
  }
  return Math.max((Math.sign(meanSlope) * products) / squares, least);
}

function speedAt(timeS: Float64Array, speedMps: Float64Array, i: number, atS: number): number {
  const fraction = (atS - timeS[i - 1]) / (timeS[i] - timeS[i - 1]);
  return speedMps[i - 1] + fraction * (speedMps[i] - speedMps[i - 1]);
}
