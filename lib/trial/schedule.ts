import type {ArmName, OrderName} from "../result/session.ts";
import {DEFAULT_POWER} from "../stats/power.ts";
import {createRandom} from "../stats/random.ts";
import {countOrders, drawOrder, isLimited, type SchedulePlan} from "./order-limits.ts";
import {countDeals, MAX_LISTED_DEALS, orderProblem, orderStep} from "./plan.ts";
import {planPower, smallestShown} from "./plan-power.ts";

/** Orders in the sequence in which they are offered. */
export const ORDER_NAMES: readonly OrderName[] = [
  "drift-balanced",
  "complete",
  "blocks-of-4",
  "abba",
  "pairs",
];

/** What one order offers at one number of runs. */
export interface OrderChoice {
  order: OrderName;
  runs: number;
  /** orders that the lot may draw; 0 where none meets the limits, null where they cannot be counted */
  orders: number | null;
  /** smallest p that exchanging labels among these orders can reach; null without an order */
  floor: number | null;
  /** true difference that is shown with the chance asked for, in spreads of one run; null where there is no interval */
  smallestShown: number | null;
  /** why it is not offered, in words, or null */
  problem: string | null;
}

/** More runs than this are no afternoon; a question that needs them is answered "not on one day". */
export const MOST_RUNS = 120;

/**
 * What an order offers: how many orders the lot may draw, the smallest p, the difference it shows. The smallest p is 2 over the
 * number of orders, since with each order its mirror, arms exchanged, is as likely and as far from zero.
 *
 * @param options level, default 0.95; power = chance to show the difference, default 0.8
 */
export function orderChoice(plan: SchedulePlan, options: {level?: number; power?: number} = {}): OrderChoice {
  const {order, runs} = plan;
  const none = {order, runs, orders: null, floor: null, smallestShown: null};
  const problem = orderProblem(order, runs);
  if (problem) return {...none, problem};
  if (isLimited(plan) && countDeals(order, runs) > MAX_LISTED_DEALS) {
    return {
      ...none,
      problem: `more than ${MAX_LISTED_DEALS} orders, too many to go through for the limits asked`,
    };
  }
  const orders = countOrders(plan);
  if (orders === 0) return {...none, orders, problem: "no order meets the limits asked"};
  return {
    order,
    runs,
    orders,
    floor: Math.min(1, 2 / orders),
    smallestShown: smallestShown({order, runs, bothDirections: plan.ways === "both"}, options),
    problem: null,
  };
}

/**
 * The order of a plan, by lot from its seed; every order that meets the limits has the same chance. The same seed draws the same order.
 *
 * @throws {RangeError} the order cannot be dealt for this number of runs, or no order meets the limits
 */
export function drawSchedule(plan: SchedulePlan & {seed: number}): ArmName[] {
  if (isLimited(plan) && countOrders(plan) === 0)
    throw new RangeError("drawSchedule: no order meets the limits asked");
  const deal = drawOrder(plan, createRandom(plan.seed, "order"));
  return Array.from(deal, label => (label === 1 ? "changed" : "baseline"));
}

/** Direction of each run: all out, or out and back in turn. */
export function scheduledWays({
  runs,
  ways = "one",
}: {
  runs: number;
  ways?: "one" | "both";
}): ("out" | "back")[] {
  return Array.from({length: runs}, (_, place) => (ways === "both" && place % 2 === 1 ? "back" : "out"));
}

/**
 * Smallest number of runs with which an order shows a difference with the chance asked for.
 *
 * @param difference true difference in spreads of one run, > 0
 * @param options level, default 0.95; power, default 0.8; ways as in the plan
 * @returns null where `MOST_RUNS` are not enough
 * @throws {RangeError} a difference that is not above 0
 */
export function runsNeeded(
  order: OrderName,
  difference: number,
  {level, power = DEFAULT_POWER, ways = "one"}: {level?: number; power?: number; ways?: "one" | "both"} = {},
): number | null {
  if (!(difference > 0))
    throw new RangeError(`runsNeeded: the difference must be above 0, but it is ${difference}`);
  const step = orderStep(order);
  const shows = (steps: number) =>
    (planPower({order, runs: steps * step, bothDirections: ways === "both"}, difference, {level}) ?? 0) >=
    power;
  const most = Math.floor(MOST_RUNS / step);
  let [low, high] = [0, Math.min(4, most)];
  while (!shows(high)) {
    if (high === most) return null;
    [low, high] = [high, Math.min(2 * high, most)];
  }
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (shows(middle)) high = middle;
    else low = middle;
  }
  return high * step;
}
