import {median} from "../stats/quantile.ts";
import type {PassEvidence} from "./pass-evidence.ts";

/** A level read off between two samples with independent noise keeps, on average over where it falls, this share of its variance. */
const INTERPOLATED_VARIANCE = 2 / 3;
/** Noise is looked for among samples so far apart [s]: receivers filter, so that neighbours err alike, yet a pull is smooth over it. */
const NOISE_SPACING_S = 0.4;
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
 *     u² = Σ over both ends of  (w · s² / a²  +  (j h²/8 / a)² / 3  +  H²/12  +  T²/12)
 *
 * with s the noise of speed, a the acceleration at that end, w = 2/3 + r/3 the share of a sample's variance that is left in a
 * straight line between two samples whose noise has correlation r (average of f² + (1−f)² + 2 f (1−f) r over
 * 0 ≤ f ≤ 1); j h²/8 the error of interpolation (see
 * `crossingTime`), taken as the half-width of a rectangle, j the change of acceleration over the pass and h the step at
 * that end; H the time for which values are held, T the step of rounded or shared time stamps, both rectangles.
 *
 * s is the largest of the rounding of speed, q/√12, what is known of it beforehand (a speed computed from positions has their
 * scatter over √2 h), and the noise seen: each sample against the parabola through the samples
 * m before, m and 2 m behind it (third differences, for any spacing), m samples being 0.4 s, by the median absolute
 * deviation. The same with m = 1 gives s₁, and r = 1 − (s₁/s)². Noise that is alike over more than a second is not
 * seen, nor is what a receiver's smoothing hides.
 */
export function elapsedUncertainty(evidence: PassEvidence): number {
  const {pass, timeS, speedMps, stampS, holdS} = evidence;
  const elapsedS = pass.endS - pass.startS;
  const readOff = readOffVariance(evidence);
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
    variance += readOff / (slope * slope) + (interpolation * interpolation) / 3;
    variance += (holdS * holdS + stampS * stampS) / 12;
  }
  return Math.sqrt(variance);
}

/** Samples that carry news: all of them, or where values are held the first of each. */
function newsOf({first, end, changes, holdS}: PassEvidence): number[] {
  return holdS > 0 ? changes : Array.from({length: end - first}, (_, k) => first + k);
}

/** Variance of a speed read off between two samples [m²/s²]. */
function readOffVariance(evidence: PassEvidence): number {
  const rounding = evidence.speedStepMps / Math.sqrt(12);
  const apart = seenNoise(evidence, NOISE_SPACING_S) ?? seenNoise(evidence, 0);
  const near = seenNoise(evidence, 0);
  const noise = Math.max(apart ?? UNSEEN_NOISE_MPS, rounding, evidence.speedUMps);
  const correlation = near === null ? 0 : Math.max(0, 1 - (Math.max(near, rounding) / noise) ** 2);
  return noise * noise * (INTERPOLATED_VARIANCE + (1 - INTERPOLATED_VARIANCE) * correlation);
}

/** Standard deviation of a sample's speed about a smooth course [m/s], by samples so far apart; null where too few tell. */
function seenNoise(evidence: PassEvidence, spacingS: number): number | null {
  const {timeS, speedMps} = evidence;
  const news = newsOf(evidence);
  const m = Math.max(1, Math.floor((spacingS + 1e-9) / Math.max(evidence.stepS, evidence.holdS)));
  const residuals: number[] = [];
  for (let k = m; k + 2 * m < news.length; k++) {
    const [a, i, b, c] = [news[k - m], news[k], news[k + m], news[k + 2 * m]];
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
