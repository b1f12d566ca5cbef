import type {Channel, Guess} from "../result/log.ts";
import {median, quantile} from "../stats/quantile.ts";
import {parseUnit, toSI} from "../units/unit.ts";
import {speedFromPositions} from "./derived-speed.ts";

/** Units that a speed may be in. The nearest two, mph and knots, are 15 % apart. */
const UNITS = ["m/s", "km/h", "mph", "kn"];
/** Ratio of speed to that of the positions agrees with a unit to this part: their nearest halfway is 7 % away. */
const AGREES = 0.03;
/** Slower than this [m/s] positions wander as much as the car moves. */
const MOVING_MPS = 5;
/** Fixes under way that are needed. */
const LEAST_FIXES = 20;
/** Half of the ratios lie within this share of their middle, or the two are not one motion. */
const SPREAD = 0.1;

/**
 * Finds the unit of a speed for which the file gives none, where positions beside it leave one: the middle ratio of the two
 * has to agree with a unit to 3 %. Converts the channel in place and says so.
 *
 * @returns what was chosen; empty where there is nothing to settle or nothing settles it
 */
export function settleSpeedUnits(timeS: Float64Array, channels: readonly Channel[]): Guess[] {
  const open = channels.filter(
    ({name, unit, valueUnit, kind, valid}) =>
      ["speed", "vehicle-speed"].includes(name) &&
      kind === "number" &&
      unit === null &&
      valueUnit === null &&
      valid > 0,
  );
  const [latitude, longitude] = ["latitude", "longitude"].map(name =>
    channels.filter(channel => channel.name === name && channel.valid > 0 && channel.valueUnit === "deg"),
  );
  if (open.length === 0 || latitude.length !== 1 || longitude.length !== 1) return [];
  if (latitude[0].values.some(value => Math.abs(value) > 90)) return [];
  const {speedMps} = speedFromPositions(timeS, latitude[0].values, longitude[0].values);
  return open.flatMap(channel => {
    const symbol = unitOf(channel.values, speedMps);
    if (symbol === null) return [];
    const unit = parseUnit(symbol);
    for (let i = 0; i < channel.values.length; i++) channel.values[i] = toSI(channel.values[i], unit);
    channel.unit = symbol;
    channel.valueUnit = "m/s";
    return {
      what: `unit of "${channel.column}"`,
      chosen: `${symbol}, as the positions beside it tell`,
      confidence: "likely",
    };
  });
}

function unitOf(values: Float64Array, speedMps: Float64Array): string | null {
  const ratios: number[] = [];
  for (let i = 0; i < values.length; i++) {
    if (speedMps[i] > MOVING_MPS && Number.isFinite(values[i])) ratios.push(speedMps[i] / values[i]);
  }
  const finite = ratios.filter(Number.isFinite); // a zero beside a moving position
  if (finite.length < LEAST_FIXES) return null;
  const middle = median(finite);
  if (quantile(finite, 0.75) - quantile(finite, 0.25) > 2 * SPREAD * middle) return null;
  return UNITS.find(symbol => Math.abs(middle / toSI(1, symbol) - 1) <= AGREES) ?? null;
}
