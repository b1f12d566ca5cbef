import type {Log} from "../result/log.ts";
import {firstNotBefore} from "../series/interpolate.ts";
import {usableChannel} from "./usable-channel.ts";

/** Throttle or pedal is open from this share of its largest value in the log: plates stop short of 100 % and flutter. */
const OPEN_SHARE = 0.9;
/** A log in which it never reaches this was driven without full throttle. */
const EVER_OPEN = 0.6;
/** Throttle or pedal below this share of its range is closed; a plate idles at some 10 %. */
const CLOSED_SHARE = 0.25;

/** A value holds for so long [s]: slow buses refresh every second or so. */
const HELD_S = 2;

/** Throttle or pedal at a time. */
export interface PedalOpen {
  name: "throttle" | "pedal";
  /** true too where it is not known: a log of the engine may cover a part of the drive */
  isOpen(timeS: number): boolean;
  isClosed(timeS: number): boolean;
  isKnown(timeS: number): boolean;
}

/** Pedal before throttle: boost control closes the plate of an engine at full load. Null where neither is logged. */
export function pedalOf(log: Log): PedalOpen | null {
  for (const name of ["pedal", "throttle"] as const) {
    const values = usableChannel(log, name)?.values;
    if (!values) continue;
    const [low, high] = heldRange(values.filter(Number.isFinite));
    if (!(high > low)) continue; // a sensor that never moves tells nothing
    const latest = latestValue(log.timeS, values);
    const openFrom = high < EVER_OPEN ? Number.POSITIVE_INFINITY : OPEN_SHARE * high;
    return {
      name,
      isOpen: timeS => !(latest(timeS) < openFrom),
      isClosed: timeS => !(latest(timeS) > low + CLOSED_SHARE * (high - low)),
      isKnown: timeS => Number.isFinite(latest(timeS)),
    };
  }
  return null;
}

/** Value at or last known before a time, asked in any order; NaN before the first and where the last is too old. */
function latestValue(timeS: Float64Array, values: Float64Array): (atS: number) => number {
  const rows = Uint32Array.from(timeS.keys()).filter(i => Number.isFinite(values[i]));
  const knownS = Float64Array.from(rows, row => timeS[row]);
  return atS => {
    const after = firstNotBefore(knownS, atS);
    const k = knownS[after] === atS ? after : after - 1;
    return k >= 0 && atS - knownS[k] <= HELD_S ? values[rows[k]] : Number.NaN;
  };
}

/** Smallest and largest value held for three samples, so that a wild one moves neither. */
function heldRange(values: Float64Array): [low: number, high: number] {
  let [low, high] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (let i = 2; i < values.length; i++) {
    low = Math.min(low, Math.max(values[i], values[i - 1], values[i - 2]));
    high = Math.max(high, Math.min(values[i], values[i - 1], values[i - 2]));
  }
  return [low, high];
}
