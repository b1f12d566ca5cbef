import type {Channel, Log} from "../result/log.ts";
import {medianStepS} from "../series/steps.ts";
import {quantile} from "../stats/quantile.ts";
import {stretches} from "./stretches.ts";

/** Speed of a log without its holes, and what is told from it. */
export interface SpeedTrace {
  timeS: Float64Array;
  speedMps: Float64Array;
  /** index in the log of each sample */
  rows: Uint32Array;
}

/** Samples with a speed, single wild ones (a zero, a spike) replaced by the middle of three: this trace only finds runs. */
export function speedTrace(log: Log, speed: Channel): SpeedTrace {
  const rows = Uint32Array.from(log.timeS.keys()).filter(i => Number.isFinite(speed.values[i]));
  const raw = Float64Array.from(rows, row => speed.values[row]);
  const middle = (a: number, b: number, c: number) => Math.max(Math.min(a, b), Math.min(Math.max(a, b), c));
  return {
    timeS: Float64Array.from(rows, row => log.timeS[row]),
    speedMps: raw.map((value, i) =>
      i > 0 && i + 1 < raw.length ? middle(raw[i - 1], value, raw[i + 1]) : value,
    ),
    rows,
  };
}

export function piecesWithoutGaps({timeS, speedMps, rows}: SpeedTrace, maxGapS: number): SpeedTrace[] {
  return stretches(timeS.length - 1, i => timeS[i + 1] - timeS[i] <= maxGapS).map(({first, end}) => ({
    timeS: timeS.subarray(first, end + 1),
    speedMps: speedMps.subarray(first, end + 1),
    rows: rows.subarray(first, end + 1),
  }));
}

/** Time between refreshes of a held speed [s]: a quarter of its changes follow each other faster. 0 where it never changes. */
export function refreshTimeS({timeS, speedMps}: SpeedTrace): number {
  const between: number[] = [];
  let last: number | null = null;
  for (let i = 1; i < timeS.length; i++) {
    if (speedMps[i] === speedMps[i - 1]) continue;
    if (last !== null) between.push(timeS[i] - last);
    last = timeS[i];
  }
  return between.length > 0 ? quantile(between, 0.25) : medianStepS(timeS);
}
