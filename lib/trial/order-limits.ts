import type {OrderName} from "../result/session.ts";
import type {Random} from "../stats/random.ts";
import {countDeals, type Deal, drawDeal, listDeals, MAX_LISTED_DEALS} from "./plan.ts";

/** What a plan asks of its orders beyond their name; left out or null = nothing. */
export interface OrderLimits {
  /** at most this many changes of part */
  mostChanges?: number | null;
  /** "both": runs alternate out and back, and each arm has as many out as back */
  ways?: "one" | "both";
}

/** An order, a number of runs, and what is asked of them. */
export interface SchedulePlan extends OrderLimits {
  order: OrderName;
  runs: number;
}

/**
 * Number of orders that the lot may draw.
 *
 * @throws {RangeError} the order cannot be dealt for this number of runs; limits on more orders than can be listed
 */
export function countOrders(plan: SchedulePlan): number {
  if (!isLimited(plan)) return countDeals(plan.order, plan.runs);
  let count = 0;
  for (const _ of listOrders(plan)) count++;
  return count;
}

/** Every order that the lot may draw, each once. @throws {RangeError} as `countOrders` */
export function* listOrders(plan: SchedulePlan): Generator<Deal> {
  const {order, runs} = plan;
  if (isLimited(plan) && countDeals(order, runs) > MAX_LISTED_DEALS) {
    throw new RangeError(
      `listOrders: limits on the order "${order}" of ${runs} runs need more orders than can be listed`,
    );
  }
  for (const deal of listDeals(order, runs)) if (meetsLimits(deal, plan)) yield deal;
}

/** Whether an order keeps to the limits of a plan. */
export function meetsLimits(deal: Deal, {mostChanges = null, ways = "one"}: OrderLimits): boolean {
  if (mostChanges !== null && changesOf(deal) > mostChanges) return false;
  if (ways === "one") return true;
  let balance = 0; // changed arm: out less back; the baseline arm has what is left of as many
  for (let place = 0; place < deal.length; place++)
    if (deal[place] === 1) balance += place % 2 === 0 ? 1 : -1;
  return balance === 0;
}

/** Whether a plan asks more of its orders than their name does. */
export function isLimited({mostChanges = null, ways = "one"}: OrderLimits): boolean {
  return mostChanges !== null || ways === "both";
}

/** Changes of part that an order of labels or arms needs. */
export function changesOf(order: ArrayLike<number | string>): number {
  let changes = 0;
  for (let place = 1; place < order.length; place++) if (order[place] !== order[place - 1]) changes++;
  return changes;
}

/** One order by lot; there must be one that meets the limits. */
export function drawOrder(plan: SchedulePlan, random: Random): Deal {
  for (;;) {
    const deal = drawDeal(plan.order, plan.runs, random);
    if (meetsLimits(deal, plan)) return deal;
  }
}
