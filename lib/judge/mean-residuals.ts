import type {RunFit} from "../roadload/coast-run.ts";

/** Parts of a run: enough for a curve to look at, few enough for a result that people send around. */
const PARTS = 24;
/** A thousandth of what a fair receiver's speed is good for [m/s], and of any time or speed that matters. */
const DIGITS = 4;

/**
 * What a fit leaves of a coastdown, as means over parts of equal numbers of samples: noise of single samples averages out,
 * gusts and faults of seconds stay.
 *
 * @param speedMps the run's speeds [m/s], as long as the fit's residuals
 */
export function meanResiduals(
  {timeS, residualsMps}: RunFit,
  speedMps: Float64Array,
): {time_s: number[]; speed_mps: number[]; residual_mps: number[]} {
  const n = timeS.length;
  const parts = Math.min(PARTS, n);
  const means = (values: Float64Array) =>
    Array.from({length: parts}, (_, part) => {
      const [from, end] = [part, part + 1].map(k => Math.round((k * n) / parts));
      let sum = 0;
      for (let i = from; i < end; i++) sum += values[i];
      return Number((sum / (end - from)).toFixed(DIGITS));
    });
  return {time_s: means(timeS), speed_mps: means(speedMps), residual_mps: means(residualsMps)};
}
