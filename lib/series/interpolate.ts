import {requireSeries} from "./check.ts";

/**
 * Value of a series at a time, on the straight line between the two samples around it.
 *
 * Wrong by at most h²/8 times the largest second derivative (DLMF §3.3(i)), h the spacing there.
 *
 * @param timeS  sample times [s], length n ≥ 2, strictly increasing
 * @param values length n, finite, any unit
 * @param atS    time [s]
 * @returns value in the unit of `values`, or null before the first and after the last sample
 * @throws {RangeError} not a series
 */
export function interpolateAt(
  timeS: ArrayLike<number>,
  values: ArrayLike<number>,
  atS: number,
): number | null {
  requireSeries("interpolateAt", timeS, values);
  const n = timeS.length;
  if (!(atS >= timeS[0] && atS <= timeS[n - 1])) return null;
  const after = Math.max(1, firstNotBefore(timeS, atS));
  return valueInStep(timeS, values, after, atS);
}

/** Index of the first sample at or after a time, n where there is none; `timeS` increases. */
export function firstNotBefore(timeS: ArrayLike<number>, atS: number): number {
  let low = 0;
  let high = timeS.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (timeS[middle] < atS) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** Value at a time inside the step from sample i − 1 to sample i. */
export function valueInStep(
  timeS: ArrayLike<number>,
  values: ArrayLike<number>,
  i: number,
  atS: number,
): number {
  const fraction = (atS - timeS[i - 1]) / (timeS[i] - timeS[i - 1]);
  return values[i - 1] + fraction * (values[i] - values[i - 1]);
}
