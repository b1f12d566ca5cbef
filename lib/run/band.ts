import {InputError} from "../result/error.ts";
import type {Band} from "../result/session.ts";
import {UnitError} from "../units/error.ts";
import {parseQuantity, printQuantity} from "../units/quantity.ts";

/** Bands stay above a walk [m/s]: below it satellite speed is mostly noise, and a start from rest is not a rolling pull. */
const SLOWEST_MPS = 1;

/**
 * A speed band from two quantities as a user writes them, in the unit of the first.
 *
 * @throws {InputError} 2: not a speed, equal ends, an end at standstill
 */
export function bandOf(from: string, to: string): Band {
  const [low, high] = [speedOf(from, "from"), speedOf(to, "to")];
  const band = {fromMps: low.si, toMps: high.si, unit: low.unit, gear: null};
  requireRollingBand(band);
  return band;
}

/** @throws {InputError} 2: equal ends, an end at standstill */
export function requireRollingBand({fromMps, toMps, unit}: Band): void {
  if (fromMps === toMps) {
    throw new InputError(2, {
      code: "band-empty",
      words: `the band starts and ends at ${printQuantity(fromMps, unit)}`,
      hint: "give two different speeds",
    });
  }
  if (!(Math.min(fromMps, toMps) >= SLOWEST_MPS)) {
    throw new InputError(2, {
      code: "band-from-standstill",
      words: `the band touches standstill (${printQuantity(Math.min(fromMps, toMps), unit)}); launch and slip swamp a part`,
      hint: "rolling pulls only: choose a band that starts where the car already rolls in gear, such as 60km/h",
    });
  }
}

function speedOf(text: string, name: string): {si: number; unit: string} {
  try {
    return parseQuantity(text, {dimension: "speed", name});
  } catch (error) {
    if (!(error instanceof UnitError)) throw error;
    throw new InputError(2, {code: error.code, words: error.message, hint: error.hint});
  }
}
