import type {Plan} from "../result/session.ts";
import {splits} from "../stats/deals.ts";
import type {Random} from "../stats/random.ts";
import type {TrialRun} from "./model.ts";
import {countOrders, drawOrder, listOrders, meetsLimits} from "./order-limits.ts";
import {couldDeal, type Deal, MAX_LISTED_DEALS, orderProblem, orderWords} from "./plan.ts";

/** Number of deals drawn where they are too many to list. */
export const SAMPLED_DEALS = 20_000;

/** The ways in which labels may be dealt again, all of them or a seeded sample. */
export interface Redeals {
  /** may be gone through more than once */
  deals: Iterable<Deal>;
  /** true = `deals` holds every possible deal once; false = a sample of `SAMPLED_DEALS`, to be used with the add-one rule */
  complete: boolean;
  /** number of possible deals */
  count: number;
  /** one deal by lot, every one as likely */
  draw(): Deal;
  /** who could have dealt them, in words */
  basis: string;
}

/**
 * Deals the labels of all runs again, only in ways that the plan could have dealt them.
 *
 * Runs that were excluded keep their places. A day cut short keeps the first places of each planned deal.
 * Without a plan the labels are exchanged within each declared block, or among all runs where there is none.
 *
 * @param random used only where the deals are too many to list
 * @returns null with the reason in words when the labels driven could not have been dealt by this plan
 */
export function redeals(
  runs: readonly TrialRun[],
  plan: Plan | null,
  random: Random,
): Redeals | {deals: null; reason: string} {
  const driven = labelsOf(runs);
  if (!plan) return exchangeWithin(blockSizes(runs), driven, random);
  const reason = orderProblemOf(runs, plan);
  if (reason) return {deals: null, reason};
  const schedule = {...plan, runs: plannedRuns(runs, plan)};
  const cut = (deal: Deal) => (runs.length < deal.length ? deal.subarray(0, runs.length) : deal);
  return dealsOf({
    count: countOrders(schedule),
    list: () => listOrders(schedule),
    draw: () => drawOrder(schedule, random),
    cut,
    basis: `plan ${plan.order}: ${orderWords(plan.order)}${limitWords(plan)}`,
  });
}

interface DealSource {
  count: number;
  list(): Iterable<Deal>;
  draw(): Deal;
  cut(deal: Deal): Deal;
  basis: string;
}

/** Every deal where they can be listed, else a sample that is drawn once. Deals listed are made anew each time they are gone through. */
function dealsOf({count, list, draw, cut, basis}: DealSource): Redeals {
  const complete = count <= MAX_LISTED_DEALS;
  const one = () => cut(draw());
  let sample: Deal[] | null = null;
  const deals = {
    *[Symbol.iterator]() {
      if (complete) for (const deal of list()) yield cut(deal);
      else {
        sample ??= Array.from({length: SAMPLED_DEALS}, one);
        yield* sample;
      }
    },
  };
  return {deals, complete, count, basis, draw: one};
}

/** Why the labels driven could not have been dealt by the plan, in words, or null. */
export function orderProblemOf(runs: readonly TrialRun[], plan: Plan): string | null {
  const runsPlanned = plannedRuns(runs, plan);
  const problem = orderProblem(plan.order, runsPlanned);
  if (problem) return `the runs do not match the plan: ${problem}`;
  const driven = labelsOf(runs);
  const could =
    couldDeal(plan.order, runsPlanned, driven) && (driven.length < runsPlanned || meetsLimits(driven, plan));
  return could
    ? null
    : `the order driven is none that the plan could have dealt (${plan.order}: ${orderWords(plan.order)}${limitWords(plan)})`;
}

/** Limits of a plan behind the words of its order. */
function limitWords({mostChanges = null, ways}: Plan): string {
  const words = [
    ...(mostChanges === null ? [] : [`at most ${mostChanges} changes of part`]),
    ...(ways === "both" ? ["each arm as often out as back"] : []),
  ];
  return words.map(word => `; ${word}`).join("");
}

function plannedRuns(runs: readonly TrialRun[], {runs: planned}: Plan): number {
  return Math.max(planned ?? runs.length, runs.length);
}

/** 1 = changed, by place. */
export function labelsOf(runs: readonly TrialRun[]): Deal {
  return Int8Array.from(runs, run => (run.arm === "changed" ? 1 : 0));
}

/** Places of each block in order; one block of all runs where any run has none. */
function blockSizes(runs: readonly TrialRun[]): {words: string; blocks: number[][]} {
  if (runs.some(run => run.block === null)) {
    return {words: "among all runs", blocks: [runs.map((_, place) => place)]};
  }
  const blocks = new Map<number, number[]>();
  runs.forEach((run, place) => {
    const places = blocks.get(run.block!) ?? [];
    places.push(place);
    blocks.set(run.block!, places);
  });
  return {words: "within each block", blocks: [...blocks.values()]};
}

function exchangeWithin(
  {words, blocks}: {words: string; blocks: number[][]},
  driven: Deal,
  random: Random,
): Redeals {
  const labels = blocks.map(places => places.map(place => driven[place]));
  return dealsOf({
    count: labels.reduce((product, block) => product * arrangements(block), 1),
    list: () => exchanges(blocks, labels, driven.length),
    draw: () => {
      const deal = new Int8Array(driven.length);
      blocks.forEach((places, b) => {
        const mixed = [...labels[b]];
        random.shuffle(mixed);
        places.forEach((place, i) => {
          deal[place] = mixed[i];
        });
      });
      return deal;
    },
    cut: deal => deal,
    basis: `no plan in the session: labels exchanged ${words}, as if the order had been drawn by lot`,
  });
}

/** Every way to exchange the labels of each block within it. */
function* exchanges(blocks: number[][], labels: number[][], runs: number): Generator<Deal> {
  const ways = labels.map(block => [...splits(block.length, block.filter(label => label === 1).length)]);
  const deal = new Int8Array(runs);
  yield* place(0);

  function* place(b: number): Generator<Deal> {
    if (b === blocks.length) {
      yield deal.slice();
      return;
    }
    for (const way of ways[b]) {
      blocks[b].forEach((at, i) => {
        deal[at] = way[i];
      });
      yield* place(b + 1);
    }
  }
}

function arrangements(labels: readonly number[]): number {
  const ones = labels.filter(label => label === 1).length;
  let ways = 1;
  for (let i = 1; i <= ones; i++) ways = (ways * (labels.length - ones + i)) / i;
  return Math.round(ways);
}
