import type {Channel, Log} from "../result/log.ts";
import {defaultMaxGapS, medianStepS} from "../series/steps.ts";
import {median} from "../stats/quantile.ts";
import {geodesic, greatCircleM} from "./geodesic.ts";

/** Name of the column of a derived speed: passes of it carry the flag "derived-speed". */
export const DERIVED_SPEED_COLUMN = "speed from positions";

/** Speed computed from positions. */
export interface DerivedSpeed {
  /** length = times; NaN where it cannot be told: no position, a held position, next to a gap, at the ends */
  speedMps: Float64Array;
  /** standard uncertainty of one value from the scatter of positions; null where too few fixes follow each other evenly */
  standardUncertaintyMps: number | null;
}

/**
 * No speed from positions is taken for better than this [m/s]: receivers smooth their positions, which hides part of the
 * scatter, and round their times. Four times the 0.05 m/s of a speed from Doppler shift in the open.
 */
const LEAST_UNCERTAINTY_MPS = 0.2;
/** Scatter of one position where too few fixes show it [m]. */
const UNSEEN_SCATTER_M = 1;
/** Steps of time count as even when they differ by less than this share. */
const EVEN = 0.05;
/** Even triples of legs needed before their scatter says anything. */
const MIN_TRIPLES = 4;
/** Standard deviation of a normal sample from its median absolute deviation (F. R. Hampel, JASA 69 (1974) 383). */
const MAD_TO_SD = 1.4826;

/**
 * Speed over ground by central differences of geodesic distance on WGS 84.
 *
 * With the speeds v₋, v₊ of the legs before and after a fix and their durations h₋, h₊ it is (h₊ v₋ + h₋ v₊)/(h₋ + h₊),
 * exact for constant acceleration on a straight road whatever the steps. Wrong by j h²/6 where acceleration changes at
 * j [m/s³], by the share (h v/R)²/24 of itself, too low, on a bend of radius R, and by the scatter of positions: u = σ/(√2 h) for
 * independent errors σ of the distance run, so 0.7 m/s for 1 m at 1 Hz. A receiver's own speed, from Doppler shift, is
 * good to 0.05 m/s; prefer it.
 *
 * `standardUncertaintyMps` takes σ from the median size of third differences of distance (their variance is 20 σ² for
 * independent errors; constant acceleration drops out). Errors that neighbours share drop out too, as they do from the speed.
 * Where a logger repeats each position over several rows, one row a position is used.
 *
 * @param timeS        times [s], length n, strictly increasing
 * @param latitudeDeg  latitudes [deg], length n; NaN = no position
 * @param longitudeDeg longitudes [deg], length n; NaN = no position
 * @param options.maxGapS no speed across a longer step [s]; default five median steps, at least 0.5 s
 * @param options.segment no speed across a change of this value, one a sample
 * @throws {RangeError} lengths differ, time does not increase
 */
export function speedFromPositions(
  timeS: ArrayLike<number>,
  latitudeDeg: ArrayLike<number>,
  longitudeDeg: ArrayLike<number>,
  options: {maxGapS?: number; segment?: ArrayLike<number>} = {},
): DerivedSpeed {
  const n = timeS.length;
  if (latitudeDeg.length !== n || longitudeDeg.length !== n || (options.segment ?? timeS).length !== n) {
    throw new RangeError(
      `speedFromPositions: every position needs a time and a segment, but the lengths differ from ${n}`,
    );
  }
  const speedMps = new Float64Array(n).fill(Number.NaN);
  const fixes = fixRows(timeS, latitudeDeg, longitudeDeg);
  if (fixes.length < 3) return {speedMps, standardUncertaintyMps: null};
  const times = Float64Array.from(fixes, row => timeS[row]);
  const maxGapS = options.maxGapS ?? defaultMaxGapS(times);
  const segment = options.segment;
  const legs = new Float64Array(fixes.length - 1);
  for (let k = 0; k < legs.length; k++) {
    const [i, j] = [fixes[k], fixes[k + 1]];
    const stepS = timeS[j] - timeS[i];
    if (!(stepS > 0)) {
      throw new RangeError(
        `speedFromPositions: time must increase, but sample ${j} (${timeS[j]} s) does not come after ${i}`,
      );
    }
    const broken = stepS > maxGapS || (segment !== undefined && segment[i] !== segment[j]);
    const points = [latitudeDeg[i], longitudeDeg[i], latitudeDeg[j], longitudeDeg[j]] as const;
    legs[k] = broken ? Number.NaN : (geodesic(...points)?.distanceM ?? greatCircleM(...points));
  }
  for (let k = 1; k < legs.length; k++) {
    const before = times[k] - times[k - 1];
    const after = times[k + 1] - times[k];
    speedMps[fixes[k]] = ((after * legs[k - 1]) / before + (before * legs[k]) / after) / (before + after);
  }
  return {speedMps, standardUncertaintyMps: scatter(times, legs)};
}

/**
 * The log with a channel "speed" computed from its positions, where it has none of its own; said in `guesses`. Its column
 * is `DERIVED_SPEED_COLUMN`. Else the log as it is.
 */
export function withDerivedSpeed(log: Log): Log {
  const find = (name: string) => log.channels.filter(channel => channel.name === name && channel.valid > 0);
  const [latitudes, longitudes] = [find("latitude"), find("longitude")];
  if (find("speed").length > 0 || latitudes.length !== 1 || longitudes.length !== 1) return log;
  if (latitudes[0].valueUnit !== "deg" || longitudes[0].valueUnit !== "deg") return log;
  if (!withinEarth(latitudes[0].values)) return log;
  const segment = log.channels.find(channel => channel.name === "segment")?.values;
  const {speedMps, standardUncertaintyMps: u} = speedFromPositions(
    log.timeS,
    latitudes[0].values,
    longitudes[0].values,
    {segment},
  );
  const valid = speedMps.reduce((count, value) => (Number.isFinite(value) ? count + 1 : count), 0);
  if (valid === 0) return log;
  const channel: Channel = {
    name: "speed",
    column: DERIVED_SPEED_COLUMN,
    unit: null,
    valueUnit: "m/s",
    kind: "number",
    values: speedMps,
    valid,
  };
  const seen = u ?? UNSEEN_SCATTER_M / (Math.SQRT2 * medianStepS(log.timeS));
  channel.standardUncertainty = Math.max(seen, LEAST_UNCERTAINTY_MPS);
  const words = channel.standardUncertainty.toPrecision(2);
  const chosen = `computed from positions, the file has none; standard uncertainty of one value ${words} m/s, by their scatter`;
  return {
    ...log,
    channels: [...log.channels, channel],
    guesses: [...log.guesses, {what: "speed", chosen, confidence: "weak"}],
  };
}

function withinEarth(latitudeDeg: Float64Array): boolean {
  return latitudeDeg.every(value => !(Math.abs(value) > 90));
}

/** Rows with a position of their own: of a position repeated over k rows as a rule, each k-th. */
function fixRows(
  timeS: ArrayLike<number>,
  latitudeDeg: ArrayLike<number>,
  longitudeDeg: ArrayLike<number>,
): number[] {
  const rows: number[] = [];
  for (let i = 0; i < timeS.length; i++) {
    if (Number.isFinite(latitudeDeg[i]) && Number.isFinite(longitudeDeg[i])) rows.push(i);
  }
  const starts = rows.flatMap((row, k) =>
    k > 0 && latitudeDeg[row] === latitudeDeg[rows[k - 1]] && longitudeDeg[row] === longitudeDeg[rows[k - 1]]
      ? []
      : [k],
  );
  if (starts.length < 3) return rows;
  const held = Math.round(median(starts.slice(1).map((start, k) => start - starts[k])));
  if (held < 2) return rows;
  return starts.flatMap((start, k) => {
    const kept: number[] = [];
    for (let j = start; j < (starts[k + 1] ?? rows.length); j += held) kept.push(rows[j]);
    return kept;
  });
}

/** Scatter of the speed from third differences of distance, over evenly spaced fixes; `legs` is NaN across a gap. */
function scatter(times: Float64Array, legs: Float64Array): number | null {
  const sizes: number[] = [];
  for (let k = 1; k + 1 < legs.length; k++) {
    const steps = [times[k] - times[k - 1], times[k + 1] - times[k], times[k + 2] - times[k + 1]];
    if (Math.max(...steps) > Math.min(...steps) * (1 + EVEN)) continue;
    const third = (legs[k + 1] - 2 * legs[k] + legs[k - 1]) / steps[1];
    if (Number.isFinite(third)) sizes.push(Math.abs(third));
  }
  return sizes.length < MIN_TRIPLES ? null : (MAD_TO_SD * median(sizes)) / Math.sqrt(20) / Math.SQRT2;
}
