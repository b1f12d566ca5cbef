import type {Channel, Log} from "../../lib/result/log.ts";
import {createRandom} from "../../lib/stats/random.ts";

/** A change of speed by a constant acceleration, or driving on at one speed. */
export interface Leg {
  /** what it is, for the tests to look up */
  name: string;
  seconds: number;
  /** acceleration at a speed [m/s²]; default 0 */
  accelerationMps2?: (speedMps: number) => number;
  headingDeg?: number;
  throttle?: number;
  gearRatio?: number;
  brake?: number;
}

/** A drive put together from legs, every moment known. */
export interface Drive {
  timeS: Float64Array;
  speedMps: Float64Array;
  throttle: Float64Array;
  engineRpm: Float64Array;
  courseDeg: Float64Array;
  brake: Float64Array;
  /** when each leg starts and ends [s] */
  legs: {name: string; fromS: number; toS: number}[];
}

/** Power over mass, less drag: what full throttle gives a small car [m/s²]. */
export const FULL = (v: number): number => Math.min(3.6, 62 / v) - 0.15 - 0.0004 * v * v;
/** Road load of the same car out of gear [m/s²]. */
export const COAST = (v: number): number => -0.13 - 0.00035 * v * v;

/** Drives the legs at a rate, with white noise on speed and course. */
export function drive(
  legs: readonly Leg[],
  {rateHz = 10, startMps = 0, noiseMps = 0.03, seed = 1} = {},
): Drive {
  const random = createRandom(seed, "drive");
  const rows: number[][] = [];
  const spans: Drive["legs"] = [];
  let [time, speed] = [0, startMps];
  for (const leg of legs) {
    const fromS = time;
    for (let k = 0; k < Math.round(leg.seconds * rateHz); k++) {
      const shown = Math.max(0, speed + noiseMps * random.normal());
      const course =
        ((leg.headingDeg ?? 0) + (speed > 1 ? random.normal() : 180 * random.uniform()) + 360) % 360;
      rows.push([time, shown, leg.throttle ?? 0.12, speed * (leg.gearRatio ?? 100), course, leg.brake ?? 0]);
      speed = Math.max(0, speed + (leg.accelerationMps2?.(speed) ?? 0) / rateHz);
      time = rows.length / rateHz;
    }
    spans.push({name: leg.name, fromS, toS: time});
  }
  const column = (k: number) => Float64Array.from(rows, row => row[k]);
  return {
    timeS: column(0),
    speedMps: column(1),
    throttle: column(2),
    engineRpm: column(3),
    courseDeg: column(4),
    brake: column(5),
    legs: spans,
  };
}

/** A log with the channels given, in SI. */
export function logOf(
  timeS: Float64Array,
  channels: Record<string, {values: Float64Array; unit: string | null}>,
  options: Partial<Log> = {},
): Log {
  return {
    file: "drive.csv",
    format: "delimited text",
    timeS,
    timeZero: "elapsed",
    clockZeroS: null,
    channels: Object.entries(channels).map(
      ([name, {values, unit}]): Channel => ({
        name,
        column: name,
        unit,
        valueUnit: unit,
        kind: "number",
        values,
        valid: values.filter(Number.isFinite).length,
      }),
    ),
    unread: {rows: [], columns: []},
    guesses: [],
    sha256: "0".repeat(64),
    ...options,
  };
}

/** Idle driving through a town and over land: gentle rises, braking, stops, some 4 minutes of it. */
export function idle(headingDeg: number): Leg[] {
  const go = (name: string, seconds: number, a: number): Leg => ({
    name,
    seconds,
    accelerationMps2: () => a,
    headingDeg,
    throttle: a > 0 ? 0.3 : 0.12,
    brake: a < -1 ? 1 : 0,
  });
  return [
    go("idle", 12, 1.1),
    go("idle", 40, 0),
    go("idle", 6, -0.9),
    go("idle", 20, 0.02),
    go("idle", 8, 1),
    go("idle", 45, 0),
    go("idle", 8, -2.4),
    go("idle", 30, -1),
    go("idle", 15, 0.8),
    go("idle", 40, 0),
    go("idle", 10, -1.6),
    go("idle", 5, 0),
  ];
}
