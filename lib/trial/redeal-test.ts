import type {JudgeDocument} from "../result/documents.ts";
import {type Permutation, permutationTest, sampledPermutationTest} from "../stats/permutation.ts";
import {MOST_SPLIT_VALUES, splitTest} from "../stats/split-test.ts";
import type {ArmFit} from "./fit.ts";
import type {Model, TrialRun} from "./model.ts";
import {labelsOf, type Redeals, SAMPLED_DEALS} from "./redeals.ts";

/**
 * Randomisation test of the arm over the plan's own re-deals, with the terms of the plan's model.
 *
 * Every deal where they can be listed; where any split of all runs is a deal and nothing but the arm is in the model they are counted without
 * listing them; else a seeded sample with the add-one rule.
 *
 * @param runs  all runs in the order driven
 * @param model its runs are those that enter; the others keep their places in the deals
 */
export function redealTest(
  runs: readonly TrialRun[],
  {fit, model}: {fit: ArmFit; model: Model},
  dealt: Redeals,
): NonNullable<JudgeDocument["permutation"]> {
  const {count, complete, basis} = dealt;
  const found = isEverySplit(runs, model, dealt) ? bySplits(model) : byDeals(runs, {fit, model}, dealt);
  const sampled = !complete && found.deals !== count;
  const by = sampled ? `${basis}; ${SAMPLED_DEALS} of them drawn by the seed` : basis;
  const result = {p: found.p, floor: found.floor, deals: count, basis: by};
  return {...result, words: lotWords(result)};
}

/** Above this smallest p the lot alone cannot call anything shown at 95 %. */
const USUAL_P = 0.05;

function lotWords({
  p,
  floor,
  deals,
  basis,
}: {
  p: number;
  floor: number;
  deals: number;
  basis: string;
}): string {
  const limit =
    floor > USUAL_P
      ? `, so this plan cannot reach p < ${USUAL_P} by lot alone and the verdict rests on the model`
      : "";
  return `p = ${probability(p)} over ${deals} re-deals (${basis}); the smallest that they can reach is ${probability(floor)}${limit}`;
}

/** A probability with two digits, never printed as 0. */
function probability(p: number): string {
  return String(Number(p.toPrecision(2)));
}

/** Values, labels and places of the runs that enter, as the tests over deals want them. */
export function dealInput(runs: readonly TrialRun[], {fit, model}: {fit: ArmFit; model: Model}) {
  const placeOf = new Map(runs.map((run, place) => [run.run, place]));
  return {
    values: model.runs.map(run => run.value),
    observed: labelsOf(runs),
    options: {terms: fit.terms.slice(1, -1), places: model.runs.map(run => placeOf.get(run.run)!)},
  };
}

function byDeals(
  runs: readonly TrialRun[],
  fitted: {fit: ArmFit; model: Model},
  {deals, complete}: Redeals,
): Permutation {
  const {values, observed, options} = dealInput(runs, fitted);
  if (complete) return permutationTest(values, observed, deals, options);
  const drawn = deals[Symbol.iterator]();
  return sampledPermutationTest(values, observed, () => drawn.next().value!, {
    ...options,
    nDeals: SAMPLED_DEALS,
  });
}

function bySplits({runs}: Model): Permutation {
  const values = (arm: string) => runs.filter(run => run.arm === arm).map(run => run.value);
  return splitTest(values("baseline"), values("changed"));
}

/** Whether the deals are all splits of the runs that enter into arms of today's sizes, with two means as the model. */
function isEverySplit(runs: readonly TrialRun[], model: Model, {count}: Redeals): boolean {
  if (model.terms.length > 2 || model.runs.length !== runs.length || runs.length > MOST_SPLIT_VALUES)
    return false;
  const ones = model.runs.filter(run => run.arm === "changed").length;
  let splits = 1;
  for (let i = 1; i <= ones; i++) splits = (splits * (runs.length - ones + i)) / i;
  return Math.round(splits) === count;
}
