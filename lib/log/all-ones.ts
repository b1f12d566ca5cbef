import type {Channel, Unread} from "../result/log.ts";
import {findUnit, fromSI, toSI} from "../units/unit.ts";
import {createTally} from "./tally.ts";

/** The most that a quantity of a car, its receiver or its road has, with room to spare. */
const MOST: Record<string, [most: number, unit: string]> = {
  speed: [500, "km/h"],
  "vehicle-speed": [500, "km/h"],
  "engine-speed": [8000, "r/min"], // what all ones make is exact: 8191.875, 16383.75, 65535
  throttle: [101, "%"],
  pedal: [101, "%"],
  "intake-temperature": [200, "degC"],
  "coolant-temperature": [200, "degC"],
  "oil-temperature": [200, "degC"],
  "air-temperature": [200, "degC"],
  "manifold-pressure": [600, "kPa"],
  "boost-target": [600, "kPa"],
  "air-pressure": [200, "kPa"],
  "battery-voltage": [1000, "V"],
  height: [9000, "m"],
  course: [360, "deg"],
  satellites: [100, "1"],
  hdop: [50, "1"],
};

const BITS = [8, 10, 12, 15, 16, 31, 32];
const SCALES = [1, 0.5, 0.4, 0.25, 0.2, 0.125, 0.1, 0.0625, 0.05, 0.01, 0.005, 0.001];
/** A temperature's raw byte stands this much above it. */
const OFFSETS = [0, -40, -50, -273];
const RELATIVE = 1e-9;

const PATTERNS = OFFSETS.flatMap(offset =>
  BITS.flatMap(bits => SCALES.map(scale => (2 ** bits - 1) * scale + offset)),
);

/** A channel before its values are known. */
type ChannelHead = Pick<Channel, "name" | "column" | "unit" | "valueUnit" | "kind">;

/**
 * Takes out of a channel what a bus sends for "no value", all bits set: 655.35 km/h, 8191.875 r/min, 215 °C. It must be such
 * a number to its last digit, in the unit written, and more than the quantity can have.
 *
 * @param lineOf line of the file that a sample stands in
 * @returns what was taken out, counted and placed
 */
export function dropAllOnes(channel: Channel, lineOf: (sample: number) => number): Unread["rows"] {
  const wordsOf = allOnesWords(channel);
  const tally = createTally();
  const {values} = channel;
  for (let i = 0; wordsOf && i < values.length; i++) {
    const words = wordsOf(values[i]);
    if (words === null) continue;
    tally.add(words, lineOf(i));
    values[i] = Number.NaN;
    channel.valid--;
  }
  return tally.rows();
}

/** What is told of a value [SI] of a channel that stands for no value, null of others; null where none can. */
export function allOnesWords(channel: ChannelHead): ((value: number) => string | null) | null {
  const limit = Object.hasOwn(MOST, channel.name) ? MOST[channel.name] : null;
  if (limit === null || channel.kind !== "number" || channel.valueUnit === null) return null;
  const mostSI = toSI(...limit);
  const written = channel.unit === null ? null : findUnit(channel.unit);
  return si => {
    if (!(si > mostSI)) return null;
    const value = written ? fromSI(si, written) : si;
    if (!PATTERNS.some(pattern => Math.abs(value - pattern) <= RELATIVE * Math.abs(pattern))) return null;
    return `${Number(value.toPrecision(12))}, all bits set, stands for no value in column "${channel.column}"`;
  };
}
