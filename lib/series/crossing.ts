import {requireSeries} from "./check.ts";

/**
 * First time a rising speed trace reaches a level, by linear interpolation.
 *
 * Between samples the trace is taken as straight. With spacing h [s] and largest
 * second derivative of speed j [m/s³], the speed read off is wrong by at most
 * j·h²/8 (DLMF, dlmf.nist.gov/3.3, §3.3(i), remainder for n = 1); divide by the
 * slope of that step for the error in time.
 *
 * @param timeS    sample times [s], length n ≥ 2, strictly increasing
 * @param speedMps ground speed [m/s], length n, finite
 * @param levelMps speed to reach [m/s]
 * @returns time [s], or null if the trace starts at or above the level or never reaches it
 * @throws {RangeError} lengths differ, n < 2, a sample is not finite or out of order
 */
export function crossingTime(
  timeS: ArrayLike<number>,
  speedMps: ArrayLike<number>,
  levelMps: number,
): number | null {
  requireSeries("crossingTime", timeS, speedMps);
  if (speedMps[0] >= levelMps) return null; // the moment of crossing was not recorded
  for (let i = 1; i < timeS.length; i++) {
    if (speedMps[i] >= levelMps) return crossingInStep(timeS, speedMps, i, levelMps);
  }
  return null;
}

/** Time [s] at which the straight line from sample i − 1 to sample i is at the level; the two must enclose it. */
export function crossingInStep(
  timeS: ArrayLike<number>,
  values: ArrayLike<number>,
  i: number,
  level: number,
): number {
  const fraction = (level - values[i - 1]) / (values[i] - values[i - 1]);
  return timeS[i - 1] + fraction * (timeS[i] - timeS[i - 1]);
}
