import {requireChannel} from "../log/channel.ts";
import {NOT_LATER} from "../log/time-base.ts";
import type {Flag, Log} from "../result/log.ts";
import type {Band} from "../result/session.ts";
import {integral} from "../series/integral.ts";
import {type LevelPass, levelPasses} from "../series/passes.ts";
import {defaultMaxGapS, medianStepS} from "../series/steps.ts";
import {requireRollingBand} from "./band.ts";
import {type FixQuality, passFlags} from "./flags.ts";
import {logFlags} from "./log-flags.ts";
import {type PassEvidence, passEvidence} from "./pass-evidence.ts";
import {elapsedUncertainty} from "./pass-uncertainty.ts";
import {usableChannel} from "./usable-channel.ts";

/** One pass through a speed band. */
export interface Pass {
  /** time at which the first speed was crossed [s], on the log's time */
  startS: number;
  /** time from one end of the band to the other [s] */
  elapsedS: number;
  /** standard uncertainty of `elapsedS` [s]; see `elapsedUncertainty` */
  elapsedUS: number;
  /** distance travelled in it [m] */
  distanceM: number;
  /** samples of speed between the two crossings */
  samples: number;
  /** doubts about this pass, in a fixed order */
  flags: Flag[];
}

/** What is known of the samples beside time and speed. */
export interface PassOptions {
  /** a longer step ends a pass [s]; default five median steps of the samples kept, at least 0.5 s */
  maxGapS?: number;
  /** what the receiver says of its fix, one value a sample */
  fix?: FixQuality;
  /** standard uncertainty of one speed that is known beforehand [m/s]; default 0, told by the trace alone */
  speedUMps?: number;
  /** rows that shared their time stamp with an earlier one, per row kept; 0 where every row has its own */
  sharedStamps?: number;
  /** median step of the samples with a speed [s], where these are a part of them */
  stepS?: number;
}

/**
 * Every pass of a speed trace through a band, with time, distance, uncertainty and doubts.
 *
 * The rule is that of `levelPasses`: linear interpolation, last crossing of the first speed before the second, falling
 * traces where the band falls. Samples without a finite speed are left out.
 *
 * @param timeS    sample times [s], length n, strictly increasing
 * @param speedMps speed [m/s], length n; NaN = no value
 * @param band     speeds in m/s; from > to is a coastdown
 * @returns passes in order of time; empty where there is none
 * @throws {InputError} 2: the band is empty or touches standstill
 * @throws {RangeError} lengths differ, time does not increase
 */
export function passesThroughBand(
  timeS: Float64Array,
  speedMps: Float64Array,
  band: Band,
  options: PassOptions = {},
): Pass[] {
  requireRollingBand(band);
  if (timeS.length !== speedMps.length) {
    throw new RangeError(`passesThroughBand: ${timeS.length} times but ${speedMps.length} speeds`);
  }
  const kept = finiteRows(speedMps);
  if (kept.length < 2) return [];
  const time = pick(timeS, kept);
  const speed = pick(speedMps, kept);
  const maxGapS = options.maxGapS ?? defaultMaxGapS(time);
  const fix = options.fix && pickFix(options.fix, kept);
  const stampS = stampResolutionS(time, options.sharedStamps ?? 0, options.stepS);
  return levelPasses(time, speed, band.fromMps, band.toMps, {maxGapS}).map(pass =>
    toPass(
      pass,
      time,
      speed,
      passEvidence(time, speed, pass, {maxGapS, stampS, speedUMps: options.speedUMps ?? 0}),
      fix,
    ),
  );
}

/**
 * Passes of a log's speed through a band; as `passesThroughBand`, with what the log says of fix and time stamps.
 *
 * @param options whole: samples of the whole log and their median step [s], where this is a part of it
 * @throws {InputError} also 1: the log has no speed, or several columns that may be it, or none with a unit
 */
export function passesOfLog(
  log: Log,
  band: Band,
  {maxGapS, whole}: {maxGapS?: number; whole?: {samples: number; stepS: number}} = {},
): Pass[] {
  requireRollingBand(band);
  const dropped = log.unread.rows.find(row => row.reason === NOT_LATER)?.count ?? 0;
  const speed = requireChannel(log, "speed");
  const fixes = usableChannel(log, "fix");
  const passes = passesThroughBand(log.timeS, speed.values, band, {
    maxGapS,
    stepS: whole?.stepS,
    fix: {
      satellites: usableChannel(log, "satellites")?.values,
      hdop: usableChannel(log, "hdop")?.values,
      speedAccuracyMps: usableChannel(log, "speed-accuracy")?.values,
      fix: fixes?.kind === "number" ? fixes.values : undefined,
    },
    speedUMps: speed.standardUncertainty,
    sharedStamps: dropped / (whole?.samples ?? log.timeS.length),
  });
  return passes.map(pass => ({...pass, flags: [...pass.flags, ...logFlags(log, speed, pass)]}));
}

function toPass(
  {startS, endS, startIndex, endIndex}: LevelPass,
  time: Float64Array,
  speed: Float64Array,
  evidence: PassEvidence,
  fix: FixQuality | undefined,
): Pass {
  return {
    startS,
    elapsedS: endS - startS,
    elapsedUS: elapsedUncertainty(evidence),
    distanceM: integral(time, speed, startS, endS)!,
    samples: endIndex - startIndex,
    flags: passFlags(evidence, fix),
  };
}

/** Stamps shared by k rows leave a row's true time open within a k-th of the step [s]. */
function stampResolutionS(time: Float64Array, sharedStamps: number, stepS: number | undefined): number {
  return sharedStamps > 0.5 ? (stepS ?? medianStepS(time)) / (1 + sharedStamps) : 0;
}

function finiteRows(values: Float64Array): Uint32Array {
  const rows = new Uint32Array(values.length);
  let count = 0;
  for (let i = 0; i < values.length; i++) if (Number.isFinite(values[i])) rows[count++] = i;
  return rows.slice(0, count);
}

function pick(values: Float64Array, rows: Uint32Array): Float64Array {
  if (rows.length === values.length) return values;
  const picked = new Float64Array(rows.length);
  for (let i = 0; i < rows.length; i++) picked[i] = values[rows[i]];
  return picked;
}

function pickFix({satellites, hdop, speedAccuracyMps, fix}: FixQuality, rows: Uint32Array): FixQuality {
  return {
    satellites: satellites && pick(satellites, rows),
    hdop: hdop && pick(hdop, rows),
    speedAccuracyMps: speedAccuracyMps && pick(speedAccuracyMps, rows),
    fix: fix && pick(fix, rows),
  };
}
