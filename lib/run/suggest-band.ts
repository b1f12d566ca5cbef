import type {Band} from "../result/session.ts";

/** Ends of a suggested band are multiples of this [km/h]. */
const STEP_KMH = 10;
/** A narrower band times noise [km/h]. */
const NARROWEST_KMH = 20;

/** Speeds that a pull runs through without a break. */
export interface Coverage {
  slowestMps: number;
  fastestMps: number;
}

/**
 * The widest band with round ends that every pull runs through. Where no band of 20 km/h is in all of them, the one in which most
 * speed is covered (its width times the number of pulls): one odd pull must not rule it.
 *
 * @returns the band and how many pulls run through it, or null where no pull covers 20 km/h between round ends
 */
export function suggestBand(pulls: readonly Coverage[]): {band: Band; covered: number} | null {
  const fastestKmh = Math.max(0, ...pulls.map(pull => pull.fastestMps * 3.6));
  let best: {from: number; to: number; covered: number} | null = null;
  const score = ({from, to, covered}: {from: number; to: number; covered: number}) =>
    (covered === pulls.length ? 1e6 : 0) + covered * (to - from);
  for (let from = STEP_KMH; from < fastestKmh; from += STEP_KMH) {
    for (let to = from + NARROWEST_KMH; to < fastestKmh; to += STEP_KMH) {
      const covered = pulls.filter(
        ({slowestMps, fastestMps}) => slowestMps * 3.6 < from && fastestMps * 3.6 > to,
      ).length;
      const candidate = {from, to, covered};
      if (covered > 0 && (best === null || score(candidate) > score(best))) best = candidate;
    }
  }
  if (best === null) return null;
  const {from, to, covered} = best;
  return {band: {fromMps: (from * 5) / 18, toMps: (to * 5) / 18, unit: "km/h", gear: null}, covered};
}
