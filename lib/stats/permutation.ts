import {requireWhole} from "./check.ts";
import {DealModel, type PermutationOptions, refuseForeignDeal, smallestGroup} from "./deal-model.ts";
import type {Labels} from "./deals.ts";

export type {PermutationOptions};

/** What a randomisation test found. */
export interface Permutation {
  /** effect of label 1 against label 0 under the labels that were dealt, in the unit of the values */
  estimate: number;
  /** two-sided: share of deals whose effect is at least as far from zero as the one observed */
  p: number;
  /** smallest p that any outcome could give with these deals */
  floor: number;
  /** deals that entered, the observed one among them */
  deals: number;
  /** deals at least as far from zero, the observed one among them */
  asExtreme: number;
  /** deals left out because the effect could not have been estimated under them */
  skipped: number;
}

/**
 * Randomisation test over the deals that the plan could have made.
 *
 * Statistic: the coefficient of the label in the least-squares model with an intercept and the given terms; without terms
 * the difference of means. By the theorem of Frisch and Waugh it is dᵀMy / dᵀMd with M = 1 − QQᵀ of the other terms, so
 * each deal d costs n·(terms + 1) operations.
 *
 * The test is exact if the labels were dealt with equal chances among `deals` (R. A. Fisher, The Design of Experiments,
 * 1935, §21). `floor` is the share of the smallest group of deals that no outcome can tell apart: as a rule a deal and
 * its mirror image, 2/deals; 1/deals where mirror images are not dealt (arms of different size).
 *
 * @param values   n observations
 * @param observed labels that were dealt, 0 or 1 by place
 * @param deals    every deal the plan could have made, each as likely, the observed one among them
 * @throws {RangeError} a value not finite, wrong lengths, a label other than 0 and 1, the observed deal not among the deals, the
 *   effect not estimable under it
 */
export function permutationTest(
  values: ArrayLike<number>,
  observed: Labels,
  deals: Iterable<Labels>,
  options: PermutationOptions = {},
): Permutation {
  const model = new DealModel("permutationTest", values, observed, options);
  const counted = {deals: 0, asExtreme: 0, skipped: 0};
  const probed: number[] = [];
  let seen = false;
  for (const deal of deals) {
    if (!count(model, deal, counted)) continue;
    probed.push(model.probed);
    seen ||= model.isObserved(deal);
  }
  if (!seen) refuseForeignDeal("permutationTest");
  const floor = smallestGroup(probed) / counted.deals;
  return {estimate: model.estimate, p: counted.asExtreme / counted.deals, floor, ...counted};
}

/**
 * The same with deals drawn by lot, for plans that have too many to list. The observed deal counts as one more draw, so
 * p = (as extreme + 1)/(nDeals + 1) never understates (B. Phipson and G. K. Smyth, Stat. Appl. Genet. Mol. Biol. 9 (2010) 39).
 *
 * @param draw    one deal by lot, every deal of the plan as likely
 * @param options nDeals, default 9999
 * @throws {RangeError} as `permutationTest`, but whether the observed deal belongs to the plan is not seen
 */
export function sampledPermutationTest(
  values: ArrayLike<number>,
  observed: Labels,
  draw: () => Labels,
  {nDeals = 9999, ...options}: PermutationOptions & {nDeals?: number} = {},
): Permutation {
  requireWhole("sampledPermutationTest", nDeals, "nDeals");
  const model = new DealModel("sampledPermutationTest", values, observed, options);
  const counted = {deals: 1, asExtreme: 1, skipped: 0};
  for (let i = 0; i < nDeals; i++) count(model, draw(), counted);
  return {
    estimate: model.estimate,
    p: counted.asExtreme / counted.deals,
    floor: 1 / counted.deals,
    ...counted,
  };
}

/** Takes one deal into the counts; false where it was skipped. */
function count(
  model: DealModel,
  deal: Labels,
  counted: {deals: number; asExtreme: number; skipped: number},
): boolean {
  if (!model.take(deal)) {
    counted.skipped++;
    return false;
  }
  counted.deals++;
  if (Math.abs(model.effect) >= Math.abs(model.estimate) - model.tie) counted.asExtreme++;
  return true;
}
