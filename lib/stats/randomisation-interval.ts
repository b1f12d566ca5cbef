import {requireFraction} from "./check.ts";
import {DealModel, type PermutationOptions, refuseForeignDeal, smallestGroup} from "./deal-model.ts";
import type {Labels} from "./deals.ts";
import {DEFAULT_LEVEL, type Interval} from "./interval.ts";

/** The interval of effects that a randomisation test does not reject. */
export interface RandomisationInterval extends Interval {
  /** deals that entered */
  deals: number;
}

/**
 * All effects that `permutationTest` does not reject when they are taken off the values with label 1: from the smallest
 * to the largest of them.
 *
 * For an effect u away from the estimate every deal e gives |R − u·B|/c against the |u| that was dealt, with R = eᵀM(y − d·estimate),
 * B = eᵀMd, c = eᵀMe. Each deal is as extreme on a stretch of u whose ends follow from two straight lines, so the limits are exact,
 * without a grid (method of test inversion: P. H. Garthwaite, Biometrics 52 (1996) 1387, there by search). Covers exactly what it
 * says, whatever the noise, if the effect is the same for every observation and the labels were dealt by lot.
 *
 * @param values   n observations
 * @param observed labels that were dealt, by place
 * @param deals    every deal of the plan, or a sample by lot to which the observed one was added
 * @param options  level asked for, default 0.95; terms and places as for `permutationTest`
 * @returns `level` is the one reached, at least the one asked for; null where the deals are too few to reach it, or leave
 *   one side open
 * @throws {RangeError} as `permutationTest`; level not between 0 and 1
 */
export function randomisationInterval(
  values: ArrayLike<number>,
  observed: Labels,
  deals: Iterable<Labels>,
  {level = DEFAULT_LEVEL, ...options}: PermutationOptions & {level?: number} = {},
): RandomisationInterval | null {
  requireFraction("randomisationInterval", level, "level");
  const model = new DealModel("randomisationInterval", values, observed, options);
  const probed: number[] = [];
  const up: Side = {inside: 0, ends: [], gaps: []};
  const down: Side = {inside: 0, ends: [], gaps: []};
  let seen = false;
  for (const deal of deals) {
    if (!model.take(deal)) continue;
    seen ||= model.isObserved(deal);
    probed.push(model.probed);
    const rest = model.product - model.estimate * model.overlap;
    const limits = {slope: model.overlap, width: model.square, tie: model.tie * model.square};
    enter(up, rest, limits);
    enter(down, -rest, limits);
  }
  if (!seen) refuseForeignDeal("randomisationInterval");
  const allowed = rejectable(probed, level);
  if (allowed === 0) return null;
  const high = farthest(up, allowed);
  const low = farthest(down, allowed);
  if (high === null || low === null) return null;
  return {
    low: model.estimate - low,
    high: model.estimate + high,
    level: 1 - allowed / probed.length,
    method: "randomisation, test inversion",
    deals: probed.length,
  };
}

/** How many deals as extreme still reject: the largest number that outcomes can give at 1 − level. */
export function rejectable(probed: readonly number[], level: number): number {
  const group = smallestGroup(probed);
  return Math.floor(((1 - level) * probed.length) / group + ROUNDING) * group;
}

/** 1 − level times a number misses a whole number by this. */
const ROUNDING = 1e-9;
/** A deal whose overlap is its own square up to this part is the dealt one or its mirror image: as extreme for every effect. */
const SAME = 1e-9;

/** Where deals are as extreme for effects to one side of the estimate, by distance from it. */
interface Side {
  /** deals that stay so without end */
  inside: number;
  /** distances up to which others are */
  ends: number[];
  /** stretches in which deals that stay so for good are not, open ends */
  gaps: {from: number; to: number}[];
}

/** Takes in the stretch of u ≥ 0 on which |rest − u·slope| ≥ u·width. */
function enter(
  side: Side,
  rest: number,
  {slope, width, tie}: {slope: number; width: number; tie: number},
): void {
  const same = SAME * width;
  if (Math.abs(rest) <= tie && Math.abs(slope) >= width - same) {
    side.inside++;
    return;
  }
  // the side of zero on which rest − u·slope starts decides which line it meets first
  const [size, fall] = rest >= 0 ? [rest, slope] : [-rest, -slope];
  if (width + fall <= same) side.inside++;
  else if (fall - width > same) {
    side.inside++;
    side.gaps.push({from: size / (width + fall), to: size / (fall - width)});
  } else side.ends.push(size / (width + fall));
}

/** Largest distance at which more than `allowed` deals are as extreme; null where that never ends. */
function farthest({inside, ends, gaps}: Side, allowed: number): number | null {
  let count = inside;
  if (count > allowed) return null;
  // from far out inwards: an end or the inner edge of a gap brings a deal in, the outer edge takes one out
  const events = [
    ...ends.map(at => ({at, change: 1})),
    ...gaps.flatMap(({from, to}) => [
      {at: to, change: -1},
      {at: from, change: 1},
    ]),
  ].sort((a, b) => b.at - a.at || b.change - a.change);
  for (const {at, change} of events) {
    count += change;
    if (count > allowed) return at;
  }
  return 0;
}
