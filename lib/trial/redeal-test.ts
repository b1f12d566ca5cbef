import type {JudgeDocument} from "../result/documents.ts";
import {type Permutation, permutationTest, sampledPermutationTest} from "../stats/permutation.ts";
import type {Term} from "../stats/qr.ts";
import type {Model, TrialRun} from "./model.ts";
import {labelsOf, type Redeals, SAMPLED_DEALS} from "./redeals.ts";

/**
 * Randomisation test of the arm over the plan's own re-deals, with the terms of the plan's model.
 *
 * @param runs  all runs in the order driven
 * @param terms terms that were fitted, mean first and arm last
 * @param model its runs are those that enter; the others keep their places in the deals
 */
export function redealTest(
  runs: readonly TrialRun[],
  terms: readonly Term[],
  model: Model,
  {deals, complete, count, basis}: Redeals,
): NonNullable<JudgeDocument["permutation"]> {
  const values = model.runs.map(run => run.value);
  const observed = labelsOf(runs);
  const places = model.runs.map(run => runs.findIndex(candidate => candidate.run === run.run));
  const options = {terms: terms.slice(1, -1), places};
  const drawn = deals[Symbol.iterator]();
  const found: Permutation = complete
    ? permutationTest(values, observed, deals, options)
    : sampledPermutationTest(values, observed, () => drawn.next().value!, {
        ...options,
        nDeals: SAMPLED_DEALS,
      });
  const words = complete ? basis : `${basis}; ${SAMPLED_DEALS} of them drawn by the seed`;
  return {p: found.p, floor: found.floor, deals: count, basis: words};
}
