import {medianInPlace} from "../stats/quantile.ts";

/** Steps of the longest pass: this many times the median step, at least `MIN_GAP_S` (design of `--max-gap`). */
const GAP_STEPS = 5;
/** No shorter step ends a pass [s]: half a second of a rolling pull is still well described by a straight line. */
const MIN_GAP_S = 0.5;

/**
 * Median step of a time base [s].
 *
 * @param timeS sample times [s], length n ≥ 2, strictly increasing
 * @throws {RangeError} fewer than two samples
 */
export function medianStepS(timeS: ArrayLike<number>): number {
  if (timeS.length < 2)
    throw new RangeError(`medianStepS: at least 2 samples are needed, found ${timeS.length}`);
  const steps = new Float64Array(timeS.length - 1);
  for (let i = 0; i < steps.length; i++) steps[i] = timeS[i + 1] - timeS[i];
  return medianInPlace(steps);
}

/** Longest step [s] that is bridged where the user gives none: five median steps, at least 0.5 s. */
export function defaultMaxGapS(timeS: ArrayLike<number>): number {
  return gapOfMedianStepS(medianStepS(timeS));
}

/** As `defaultMaxGapS`, by the median step [s]. */
export function gapOfMedianStepS(stepS: number): number {
  return Math.max(GAP_STEPS * stepS, MIN_GAP_S);
}

/** Steps longer than `maxGapS`: where they start and how long they are [s]. */
export function gapsLongerThan(timeS: ArrayLike<number>, maxGapS: number): {atS: number; lengthS: number}[] {
  const gaps: {atS: number; lengthS: number}[] = [];
  for (let i = 1; i < timeS.length; i++) {
    const lengthS = timeS[i] - timeS[i - 1];
    if (lengthS > maxGapS) gaps.push({atS: timeS[i - 1], lengthS});
  }
  return gaps;
}
