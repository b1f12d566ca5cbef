import type {Channel, Log} from "../result/log.ts";
import {firstNotBefore} from "../series/interpolate.ts";
import {median} from "../stats/quantile.ts";
import {findUnit, fromSI, toSI} from "../units/unit.ts";
import type {Pass} from "./passes.ts";

/** What a channel cannot be while the car pulls or coasts through a band. */
interface Faults {
  name: string;
  unit: string;
  /** values that stand for no sensor or a broken one */
  defaults: number[];
  /** outside of these it is a fault, too */
  least: number;
  most: number;
  why: string;
}

const rows: [name: string, unit: string, defaults: number[], least: number, most: number, why: string][] = [
  [
    "intake-temperature",
    "degC",
    [-40, 215],
    -40,
    110,
    "raw 00 and FF of A − 40 (SAE J1979, PID 0F); charge pipes stay below",
  ],
  [
    "coolant-temperature",
    "degC",
    [-40, 215],
    -40,
    140,
    "raw 00 and FF of A − 40 (SAE J1979, PID 05); it boils before",
  ],
  [
    "oil-temperature",
    "degC",
    [-40, 210, 215],
    -40,
    180,
    "raw 00 and FF of A − 40 (SAE J1979, PID 5C); oil burns before",
  ],
  [
    "air-temperature",
    "degC",
    [-40, 215],
    -40,
    60,
    "raw 00 and FF of A − 40 (SAE J1979, PID 46); no road is hotter",
  ],
  ["height", "m", [], -450, 6000, "the lowest and about the highest road on land"],
  [
    "air-pressure",
    "kPa",
    [0, 255],
    45,
    110,
    "raw 00 and FF (SAE J1979, PID 33); the highest road, the highest barometer",
  ],
  ["manifold-pressure", "kPa", [], -110, 600, "below a vacuum, or beyond any engine of a road car"],
  ["lambda", "1", [0], 0.4, Number.POSITIVE_INFINITY, "no engine burns below"],
  ["spark-advance", "deg", [-64, 63.5], -64, 90, "raw 00 and FF of A/2 − 64 (SAE J1979, PID 0E)"],
  ["battery-voltage", "V", [0], 0, 1000, "the logger itself needs some"],
  [
    "engine-speed",
    "r/min",
    [16383.75, 8191.875],
    0,
    20000,
    "raw FFFF of (256 A + B)/4 (SAE J1979, PID 0C), and of 1/8 r/min a bit",
  ],
];
const FAULTS: readonly Faults[] = rows.map(([name, unit, defaults, least, most, why]) => ({
  name,
  unit,
  defaults,
  least,
  most,
  why,
}));

/** All bits set, in the whole numbers of buses and in their common scales: nobody measured that. */
const ALL_ONES = [
  65535, 6553.5, 655.35, 65.535, 32767, 3276.7, 327.67, 4095, 409.5, 40.95, 4294967295, 2147483647,
];
/** Values that are equal but for rounding agree to this part. */
const SAME = 1e-9;
/** Samples needed, and the share of them that must be at fault. */
const LEAST_SAMPLES = 3;
const SHARE = 0.5;

/**
 * Columns that sit at a value for "no sensor" through a pass, or at one that the quantity cannot have. The car moves through a
 * band meanwhile, so that a channel that shows all bits set stands still while others move.
 *
 * @returns headers of the columns, in order
 */
export function faultyColumns(log: Log, pass: Pass): string[] {
  const first = firstNotBefore(log.timeS, pass.startS);
  const end = firstNotBefore(log.timeS, pass.startS + pass.elapsedS);
  return log.channels
    .filter(channel => channel.kind === "number" && isFaulty(channel, first, end))
    .map(channel => channel.column);
}

function isFaulty(channel: Channel, first: number, end: number): boolean {
  const values = channel.values.subarray(first, end).filter(Number.isFinite);
  if (values.length < LEAST_SAMPLES) return false;
  const faults = FAULTS.find(({name}) => name === channel.name);
  const stands = values.every(value => value === values[0]);
  if (!faults && !stands) return false; // most channels
  const written = channel.unit === null ? null : findUnit(channel.unit);
  const middle = median(values);
  const share = (holds: (value: number) => boolean) => values.filter(holds).length >= SHARE * values.length;
  if (faults && channel.valueUnit !== null) {
    const {unit, defaults, least, most} = faults;
    const [low, high] = [toSI(least, unit), toSI(most, unit)];
    if (defaults.some(value => share(found => same(found, toSI(value, unit))))) return true;
    if (middle < low || middle > high) return true;
  }
  if (!stands) return false;
  const asWritten = written === null ? middle : fromSI(middle, written);
  return channel.name !== "time" && ALL_ONES.some(value => same(asWritten, value));
}

function same(a: number, b: number): boolean {
  return Math.abs(a - b) <= SAME * Math.max(1, Math.abs(a), Math.abs(b));
}
