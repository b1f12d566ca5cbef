import {InputError} from "../result/error.ts";
import type {Session} from "../result/session.ts";
import {fromSI} from "../units/unit.ts";

/** Speeds of a proposal are multiples of this, in the unit of the band. */
const STEP = 5;
/** A pull ends a little above its band, so a proposal keeps this below the limit, in the unit of the band. */
const MARGIN = 5;
/** Neighbouring gears of cars lie about this far apart; common practice, no source. */
const GEAR_STEP = 1.45;

/**
 * Refuses a band that a public road does not allow, and says which would do.
 *
 * @throws {InputError} exit code 2: the band ends above the limit, or a public road without a limit
 */
export function requireLegalBand({file, road, band}: Session): void {
  if (road === null || road.access === "closed") return;
  if (road.limitMps === null) {
    throw new InputError(2, {
      code: "no-limit",
      file,
      words: "the road is public and its limit is not given",
      hint: "write road: {access: public, limit: 100 km/h}, or the limit that stands there",
    });
  }
  if (band.toMps <= road.limitMps * (1 + 1e-9)) return;
  const shown = (mps: number) => Math.round(fromSI(mps, band.unit));
  const to = Math.floor((fromSI(road.limitMps, band.unit) - MARGIN) / STEP) * STEP;
  const from = Math.max(2 * STEP, to - Math.round((shown(band.toMps) - shown(band.fromMps)) / STEP) * STEP);
  const lower =
    band.gear !== null &&
    band.gear > 2 &&
    fromSI(band.toMps, band.unit) / GEAR_STEP <= fromSI(road.limitMps, band.unit)
      ? `, or take gear ${band.gear - 1}, where about the same engine speeds lie at ${shown(band.fromMps / GEAR_STEP)} to ${shown(band.toMps / GEAR_STEP)} ${band.unit} (gears ${GEAR_STEP} apart, common practice)`
      : "";
  throw new InputError(2, {
    code: "band-above-limit",
    file,
    words: `the band ends at ${shown(band.toMps)} ${band.unit}, above the limit of ${shown(road.limitMps)} ${band.unit} of a public road; nothing is planned that breaks the law`,
    hint:
      to > from
        ? `write band: {from: ${from} ${band.unit}, to: ${to} ${band.unit}}${lower}, or use a closed road`
        : "use a closed road",
  });
}
