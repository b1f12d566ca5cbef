import {requireSeries} from "./check.ts";
import {firstNotBefore, valueInStep} from "./interpolate.ts";

/**
 * Integral of a series over a time span by the trapezium rule, with part steps at both ends.
 *
 * Exact for the straight lines between samples; against a smooth curve each full step errs by at most h³/12 times
 * its second derivative (DLMF, dlmf.nist.gov/3.5, §3.5(i)). The integral of speed [m/s] is distance [m].
 *
 * @param timeS  sample times [s], length n ≥ 2, strictly increasing
 * @param values length n, finite
 * @param fromS  start of the span [s]
 * @param toS    end of the span [s], not before `fromS`
 * @returns integral [unit of values × s], or null where the span leaves the series
 * @throws {RangeError} not a series, span backwards
 */
export function integral(
  timeS: ArrayLike<number>,
  values: ArrayLike<number>,
  fromS: number,
  toS: number,
): number | null {
  requireSeries("integral", timeS, values);
  if (!(fromS <= toS))
    throw new RangeError(`integral: the span must not run backwards, found ${fromS} s to ${toS} s`);
  if (!(fromS >= timeS[0] && toS <= timeS[timeS.length - 1])) return null;
  let i = Math.max(1, firstNotBefore(timeS, fromS));
  let lastS = fromS;
  let lastValue = valueInStep(timeS, values, i, fromS);
  let sum = 0;
  for (; timeS[i] < toS; i++) {
    sum += ((lastValue + values[i]) / 2) * (timeS[i] - lastS);
    lastS = timeS[i];
    lastValue = values[i];
  }
  return sum + ((lastValue + valueInStep(timeS, values, i, toS)) / 2) * (toS - lastS);
}
