import {requireSeries} from "./check.ts";
import {firstNotBefore} from "./interpolate.ts";

/**
 * Smoothed rate of change of a series: the mean of the half window after a sample minus that of the half window before it,
 * over the half window. Exact for straight lines whatever the steps; where the slope changes at a constant rate it is the slope
 * there, too. White noise σ with n samples in a half window w [s] leaves σ √(2/n)/w.
 *
 * Within one half window of the ends there is no full window: the nearest full one stands in. A series shorter than two
 * half windows has one slope.
 *
 * @param timeS       sample times [s], length n ≥ 2, strictly increasing
 * @param values      length n, finite, any unit
 * @param halfWindowS half the width of the window [s]
 * @returns slope [unit of values / s], length n
 * @throws {RangeError} not a series, half window not positive
 */
export function smoothedSlope(
  timeS: ArrayLike<number>,
  values: ArrayLike<number>,
  halfWindowS: number,
): Float64Array {
  requireSeries("smoothedSlope", timeS, values);
  if (!(halfWindowS > 0))
    throw new RangeError(`smoothedSlope: the half window must be positive, found ${halfWindowS} s`);
  const n = timeS.length;
  const [first, last] = [timeS[0], timeS[n - 1]];
  const w = Math.min(halfWindowS, (last - first) / 2);
  // integral of the straight lines between samples, from the first sample on
  const sum = new Float64Array(n);
  for (let i = 1; i < n; i++) {
    sum[i] = sum[i - 1] + ((values[i] + values[i - 1]) / 2) * (timeS[i] - timeS[i - 1]);
  }
  const integralTo = (atS: number): number => {
    const i = Math.min(Math.max(1, firstNotBefore(timeS, atS)), n - 1);
    const into = atS - timeS[i - 1];
    const slope = (values[i] - values[i - 1]) / (timeS[i] - timeS[i - 1]);
    return sum[i - 1] + into * (values[i - 1] + (slope * into) / 2);
  };
  return Float64Array.from({length: n}, (_, i) => {
    const middle = Math.min(Math.max(timeS[i], first + w), last - w);
    return (integralTo(middle + w) - 2 * integralTo(middle) + integralTo(middle - w)) / (w * w);
  });
}
