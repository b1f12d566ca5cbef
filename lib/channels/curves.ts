import {findChannel} from "../log/channel.ts";
import type {ChannelAxis} from "../result/channel-session.ts";
import type {Channel} from "../result/log.ts";
import type {LoadedRun} from "../run/day.ts";
import {type CellMeans, cellMeans, type Grid} from "./cell-means.ts";
import {refreshedRows} from "./refreshed.ts";

/** Width of a cell on each axis. */
export const CELL: Record<ChannelAxis, number> = {
  "engine-speed": 100, // r/min: a dozen samples of a pull at 10 Hz, a fifth of the length over which engines change their mind
  speed: 1, // m/s
};

/** A curve on fewer cells is no curve. */
const LEAST_CELLS = 3;
/** A run that leaves less than this share of the cells that the others have in common is left out instead. */
const LEAST_SHARE = 0.7;

/** One channel of every run on one grid within the band. */
export interface ChannelCurves {
  channel: string;
  unit: string | null;
  axis: ChannelAxis;
  /** middle of each cell, in the unit of the axis */
  at: Float64Array;
  step: number;
  runs: {run: number; values: Float64Array}[];
  leftOut: {run: number; reason: string}[];
}

/**
 * A channel of each run over engine or road speed, within the pass: means over cells that all runs cover.
 *
 * Only rows at which the channel was really refreshed count. Runs whose log lacks the channel or the axis, or that cover much
 * less than the others, are left out with the reason.
 *
 * @param runs runs with a pass
 * @returns null where fewer than two runs or three cells are left
 * @throws {InputError} several columns equally likely to be the channel
 */
export function channelCurves(
  runs: readonly LoadedRun[],
  {channel, axis, step = CELL[axis]}: {channel: string; axis: ChannelAxis; step?: number},
): ChannelCurves | null {
  const leftOut: ChannelCurves["leftOut"] = [];
  const grid: Grid = {from: 0, step, count: Number.MAX_SAFE_INTEGER};
  const curves: {run: number; means: CellMeans}[] = [];
  let unit: string | null = null;
  for (const loaded of runs) {
    const {run} = loaded.run;
    const y = findChannel(loaded.log, channel);
    const x = findChannel(loaded.log, axis);
    const missing = !y || y.valid === 0 ? channel : !x || x.valid === 0 ? axis : null;
    if (missing !== null || !x || !y) {
      leftOut.push({run, reason: `no ${missing} was logged`});
      continue;
    }
    const means = curveOf(loaded, x, y, grid);
    if (!means) {
      leftOut.push({run, reason: `its ${channel} or ${axis} was logged too rarely within the band`});
      continue;
    }
    unit = y.valueUnit;
    curves.push({run, means});
  }
  const common = commonCells(curves.map(({means}) => means));
  if (!common) return null;
  const {from, end} = common;
  const kept = curves.filter(({run, means}, i) => {
    if (common.uses[i]) return true;
    leftOut.push({run, reason: `it covers ${means.values.length} cells, much fewer than the others`});
    return false;
  });
  if (kept.length < 2 || end - from < LEAST_CELLS) return null;
  return {
    channel,
    unit,
    axis,
    at: Float64Array.from({length: end - from}, (_, k) => (from + k + 0.5) * step),
    step,
    runs: kept.map(({run, means}) => ({
      run,
      values: means.values.slice(from - means.first, end - means.first),
    })),
    leftOut,
  };
}

function curveOf({log, pass, first, end}: LoadedRun, x: Channel, y: Channel, grid: Grid): CellMeans | null {
  if (!pass) return null;
  const {timeS} = log;
  let from = first;
  while (from < end && timeS[from] < pass.startS) from++;
  let to = from;
  while (to < end && timeS[to] <= pass.startS + pass.elapsedS) to++;
  const xRows = refreshedRows(x.values, from, to);
  const rows = refreshedRows(y.values, from, to);
  const xs = interpolated(timeS, x.values, xRows, rows);
  const kept = rows.filter((_, k) => Number.isFinite(xs[k]));
  return cellMeans(
    xs.filter(Number.isFinite),
    kept.map(row => y.values[row]),
    grid,
  );
}

/** The axis at the rows of the channel, straight between its own refreshes; NaN outside them. */
function interpolated(
  timeS: Float64Array,
  values: Float64Array,
  known: readonly number[],
  wanted: readonly number[],
): number[] {
  let k = 0;
  return wanted.map(row => {
    while (k + 1 < known.length && known[k + 1] <= row) k++;
    const [a, b] = [known[k], known[k + 1]];
    if (a === undefined || row < a) return Number.NaN;
    if (row === a) return values[a];
    if (b === undefined) return Number.NaN;
    return values[a] + ((values[b] - values[a]) * (timeS[row] - timeS[a])) / (timeS[b] - timeS[a]);
  });
}

/** Cells that all runs cover, after runs that cover much less than is usual were set aside. */
function commonCells(curves: readonly CellMeans[]): {from: number; end: number; uses: boolean[]} | null {
  if (curves.length === 0) return null;
  const lengths = curves.map(({values}) => values.length).sort((a, b) => a - b);
  const usual = lengths[lengths.length >> 1];
  const uses = curves.map(({values}) => values.length >= LEAST_SHARE * usual);
  let from = 0;
  let end = Number.POSITIVE_INFINITY;
  curves.forEach(({first, values}, i) => {
    if (!uses[i]) return;
    from = Math.max(from, first);
    end = Math.min(end, first + values.length);
  });
  return end > from ? {from, end, uses} : null;
}
