import type {Log} from "../result/log.ts";
import {median, quantile} from "../stats/quantile.ts";
import {usableChannel} from "./usable-channel.ts";

/** Share of a run's samples that must say the same gear: the rest is the change into it. */
const MOST_OF_RUN = 0.9;
/** Half of the ratios lie within this share of their median in one gear: wheels slip by less, a change of gear is 12 % or more. */
const STEADY_SHARE = 0.03;
/** Ratios closer than this share are one gear: half of the smallest step between neighbouring gears. */
const SAME_GEAR_SHARE = 0.06;

/** What a log tells of the gear of a stretch. */
export interface GearEvidence {
  /** number of the gear as logged, or null */
  gear: number | null;
  /** engine speed over road speed [r/min per m/s], or null where it is not logged or not steady */
  ratioRpmPerMps: number | null;
}

/**
 * Gear of a stretch of a log: the number where it is logged, and engine speed over road speed.
 *
 * @param first index of the first sample
 * @param end   index after the last one
 */
export function gearEvidence(
  log: Log,
  speedMps: Float64Array,
  {first, end}: {first: number; end: number},
): GearEvidence {
  return {gear: loggedGear(log, first, end), ratioRpmPerMps: ratio(log, speedMps, first, end)};
}

/**
 * Gear numbers of runs. Runs of one ratio have one gear, so a run without a number takes that of a run with the same ratio.
 *
 * @param runs one a run
 * @returns number of the gear, or null where nothing tells it
 */
export function gearNumbers(runs: readonly GearEvidence[]): (number | null)[] {
  return runs.map(({gear, ratioRpmPerMps}) => {
    if (gear !== null || ratioRpmPerMps === null) return gear;
    const like = new Set(
      runs.flatMap(other =>
        other.gear !== null &&
        other.ratioRpmPerMps !== null &&
        sameRatio(other.ratioRpmPerMps, ratioRpmPerMps)
          ? [other.gear]
          : [],
      ),
    );
    return like.size === 1 ? [...like][0] : null;
  });
}

/** True where two ratios are those of one gear. */
export function sameRatio(a: number, b: number): boolean {
  return Math.abs(a - b) < SAME_GEAR_SHARE * Math.min(a, b);
}

function loggedGear(log: Log, first: number, end: number): number | null {
  const gears = usableChannel(log, "gear")?.values.subarray(first, end).filter(Number.isFinite);
  if (!gears || gears.length === 0) return null;
  const gear = median(gears);
  const same = gears.filter(value => value === gear).length;
  return Number.isInteger(gear) && gear >= 1 && gear <= 12 && same >= MOST_OF_RUN * gears.length
    ? gear
    : null;
}

function ratio(log: Log, speedMps: Float64Array, first: number, end: number): number | null {
  const engine = usableChannel(log, "engine-speed")?.values;
  if (!engine) return null;
  const ratios: number[] = [];
  for (let i = first; i < end; i++) {
    const value = engine[i] / speedMps[i];
    if (Number.isFinite(value) && value > 0) ratios.push(value);
  }
  if (ratios.length < 3) return null;
  const middle = median(ratios);
  const spread = quantile(ratios, 0.75) - quantile(ratios, 0.25);
  return spread / 2 <= STEADY_SHARE * middle ? middle : null;
}
