import {requireChannel} from "../../log/channel.ts";
import type {ArmName, Band} from "../../result/session.ts";
import type {LoadedRun} from "../../run/day.ts";
import {directionsByHeading, headingDeg} from "../../run/heading.ts";
import {usableChannel} from "../../run/usable-channel.ts";
import {firstNotBefore} from "../../series/interpolate.ts";
import {medianStepS} from "../../series/steps.ts";
import {median} from "../../stats/quantile.ts";

/** Looked at before band entry and behind the end [s]: what led to a pull, and what ended it. */
const BEFORE_S = 3;
const AFTER_S = 1;
/** A logger that repeats more than this share of its values holds them: then only the changes are samples. */
const HELD_SHARE = 0.4;

/** One run as the checks see it. */
export interface RunView {
  loaded: LoadedRun;
  /** number of the run in the session */
  run: number;
  arm: ArmName;
  /** as noted, else by heading, else null: runs of one direction share a road profile */
  direction: "out" | "back" | null;
  headingDeg: number | null;
  /** the pass [s] */
  startS: number;
  endS: number;
  /** rows of the log inside the pass: first and end (exclusive) */
  first: number;
  end: number;
  /** samples of speed from a little before the pass to a little behind it, without holes and repeated values */
  timeS: Float64Array;
  speedMps: Float64Array;
  /** median step of these samples [s] */
  stepS: number;
  /** white noise of one sample, from second differences [m/s] */
  noiseMps: number;
}

/** Standard deviation of a normal sample from its median absolute deviation (F. R. Hampel, JASA 69 (1974) 383). */
export const MAD_TO_SD = 1.4826;

/** Views of the runs that have a pass. */
export function runViews(runs: readonly LoadedRun[]): RunView[] {
  const views = runs.map(viewOf);
  const noted = views.every(view => view.direction !== null);
  if (noted) return views;
  const {directions} = directionsByHeading(views.map(view => view.headingDeg));
  return views.map((view, i) => ({...view, direction: view.direction ?? directions[i]}));
}

/** A quantity over the rows of the pass and `leadS` before it, or null where it is not logged in this run. */
export function channelInPass(
  {loaded: {log, first: spanFirst}, first, end, startS}: RunView,
  name: string,
  leadS = 0,
): {timeS: Float64Array; values: Float64Array} | null {
  const channel = usableChannel(log, name);
  if (!channel) return null;
  let from = first;
  while (from > spanFirst && log.timeS[from - 1] >= startS - leadS) from--;
  const values = channel.values.subarray(from, end);
  return values.some(Number.isFinite) ? {timeS: log.timeS.subarray(from, end), values} : null;
}

/** +1 where the band rises, −1 for a coastdown. */
export function signOfBand({fromMps, toMps}: Band): 1 | -1 {
  return toMps > fromMps ? 1 : -1;
}

/** Median step of the rows of the pass, whether or not their speed repeats [s]. */
export function rowStepS({loaded: {log}, first, end, stepS}: RunView): number {
  return end - first > 2 ? medianStepS(log.timeS.subarray(first, end)) : stepS;
}

function viewOf(loaded: LoadedRun): RunView {
  const {log, run} = loaded;
  const {startS, elapsedS} = loaded.pass!;
  const endS = startS + elapsedS;
  const speed = requireChannel(log, "speed").values;
  const from = Math.max(loaded.first, firstNotBefore(log.timeS, startS - BEFORE_S));
  const to = Math.min(loaded.end, firstNotBefore(log.timeS, endS + AFTER_S));
  const rows: number[] = [];
  let repeats = 0;
  for (let i = from; i < to; i++) {
    if (!Number.isFinite(speed[i])) continue;
    if (rows.length > 0 && speed[i] === speed[rows[rows.length - 1]]) repeats++;
    rows.push(i);
  }
  const inPass = {
    first: firstNotBefore(log.timeS, startS),
    end: Math.min(loaded.end, firstNotBefore(log.timeS, endS)),
  };
  const news =
    repeats > HELD_SHARE * rows.length
      ? rows.filter((row, k) => k === 0 || speed[row] !== speed[rows[k - 1]])
      : rows;
  const timeS = Float64Array.from(news, row => log.timeS[row]);
  const speedMps = Float64Array.from(news, row => speed[row]);
  return {
    loaded,
    run: run.run,
    arm: run.arm,
    direction: run.direction,
    headingDeg: headingDeg(log, speed, inPass),
    startS,
    endS,
    ...inPass,
    timeS,
    speedMps,
    stepS: timeS.length > 1 ? median(timeS.subarray(1).map((time, i) => time - timeS[i])) : elapsedS,
    noiseMps: noiseOf(speedMps),
  };
}

function noiseOf(values: Float64Array): number {
  if (values.length < 5) return 0;
  const second = new Float64Array(values.length - 2);
  for (let i = 0; i < second.length; i++) second[i] = Math.abs(values[i] - 2 * values[i + 1] + values[i + 2]);
  return (MAD_TO_SD * median(second)) / Math.sqrt(6); // variance of 1, −2, 1 of independent errors
}
