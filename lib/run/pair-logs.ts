import type {Channel, Log} from "../result/log.ts";
import {type Alignment, alignSeries} from "../series/align.ts";
import {firstNotBefore} from "../series/interpolate.ts";
import {usableChannel} from "./usable-channel.ts";

/** Speeds of one drive from two sources correlate better than this; two different drives of one road do not. */
export const LEAST_CORRELATION = 0.97;
/** Both speeds vary by at least this (standard deviation) [m/s]: a steady drive fits anywhere. */
const LEAST_SPREAD_MPS = 1.5;
/** Another place or log that leaves less than so many times the unexplained variance is as good an answer. */
const CLEARLY = 3;
/** A value of the engine log stands for samples up to this far away [s]. */
const HOLD_S = 1;

/** What only the engine's log knows. */
const ENGINE = [
  "engine-speed",
  "throttle",
  "pedal",
  "gear",
  "manifold-pressure",
  "engine-load",
  "spark-advance",
];
/** What only a receiver's log knows. */
const SATELLITE = ["latitude", "course", "satellites", "hdop", "height"];

/** A satellite log and the engine log of the same drive. */
export interface LogPair {
  satellite: Log;
  engine: Log;
  /** lag: time of the engine log minus that of the satellite log; scale: satellite speed over the car's own */
  alignment: Alignment;
}

/** True of a log of the engine alone, which has the car's own speed and no receiver's. */
export function isEngineLog(log: Log): boolean {
  return has(log, ENGINE) && !has(log, SATELLITE);
}

/**
 * Finds for every satellite log the engine log of the same drive, by correlating speed.
 *
 * A pair needs a correlation of 0.97 and must be clearly better than the next place and the next log, since pulls on one road
 * are alike: else none is made and `unclear` says so.
 *
 * @returns pairs, and words on every satellite log whose engine log stays open
 */
export function pairLogs(logs: readonly Log[]): {pairs: LogPair[]; unclear: string[]} {
  const engines = logs.filter(isEngineLog);
  const pairs: LogPair[] = [];
  const unclear: string[] = [];
  if (engines.length === 0) return {pairs, unclear};
  for (const satellite of logs) {
    if (engines.includes(satellite) || has(satellite, ENGINE)) continue;
    const tried = engines
      .flatMap(engine => {
        const alignment = align(satellite, engine);
        return alignment ? [{satellite, engine, alignment}] : [];
      })
      .sort((a, b) => b.alignment.correlation - a.alignment.correlation);
    if (tried.length === 0) continue;
    const [{engine, alignment}, next] = tried;
    const {correlation, runnerUp} = alignment;
    if (correlation < LEAST_CORRELATION) {
      unclear.push(
        `no engine log is of the drive of ${satellite.file}: the nearest, ${engine.file}, correlates by ${correlation.toFixed(3)}, and ${LEAST_CORRELATION} is needed`,
      );
    } else if (next && !clearlyBetter(correlation, next.alignment.correlation)) {
      unclear.push(
        `${satellite.file} fits ${engine.file} and ${next.engine.file} equally well (correlation ${correlation.toFixed(4)} and ${next.alignment.correlation.toFixed(4)})`,
      );
    } else if (runnerUp !== null && !clearlyBetter(correlation, runnerUp)) {
      unclear.push(
        `${satellite.file} fits several places of ${engine.file} equally well (correlation ${correlation.toFixed(4)} and ${runnerUp.toFixed(4)})`,
      );
    } else pairs.push(tried[0]);
  }
  return {pairs, unclear};
}

/** The satellite log with the channels of the engine log at its own times: the nearest value within 1 s, else none. */
export function withEngineChannels({satellite, engine, alignment}: LogPair): Log {
  const nearest = Int32Array.from(satellite.timeS, time => {
    const atS = time + alignment.lagS;
    const after = firstNotBefore(engine.timeS, atS);
    const far = (i: number) => Math.abs((engine.timeS[i] ?? Number.POSITIVE_INFINITY) - atS);
    const best = far(after - 1) <= far(after) ? after - 1 : after;
    return far(best) <= HOLD_S ? best : -1;
  });
  const known = new Set(satellite.channels.map(channel => channel.name));
  const added = engine.channels
    .filter(channel => !known.has(channel.name) && channel.name !== "time" && channel.name !== "date")
    .map((channel): Channel => {
      const values = Float64Array.from(nearest, i => (i < 0 ? Number.NaN : channel.values[i]));
      return {...channel, values, valid: values.filter(Number.isFinite).length};
    });
  return {...satellite, channels: [...satellite.channels, ...added]};
}

function align(satellite: Log, engine: Log): Alignment | null {
  const a = usableChannel(satellite, "speed");
  const b = usableChannel(engine, "vehicle-speed") ?? usableChannel(engine, "speed");
  if (!a || !b) return null;
  const [one, other] = [finite(satellite.timeS, a.values), finite(engine.timeS, b.values)];
  if (one.timeS.length < 3 || other.timeS.length < 3) return null;
  return alignSeries(one.timeS, one.values, other.timeS, other.values, {minSpread: LEAST_SPREAD_MPS});
}

function finite(timeS: Float64Array, values: Float64Array): {timeS: Float64Array; values: Float64Array} {
  return {
    timeS: timeS.filter((_, i) => Number.isFinite(values[i])),
    values: values.filter(Number.isFinite),
  };
}

function has(log: Log, names: readonly string[]): boolean {
  return log.channels.some(({name, valid}) => valid > 0 && names.includes(name));
}

function clearlyBetter(correlation: number, other: number): boolean {
  return CLEARLY * (1 - correlation) < 1 - other;
}
