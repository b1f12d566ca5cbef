import type {InputError} from "../result/error.ts";
import {changesOf} from "../trial/order-limits.ts";
import {couldDeal, type Deal, orderProblem} from "../trial/plan.ts";
import {ORDER_NAMES} from "../trial/schedule.ts";
import {wrongOption} from "./options.ts";

/**
 * What is to be said of an order typed by hand: always a refusal, since no lot drew it, with what is wrong beyond that.
 *
 * @param letters A = baseline, B = changed
 */
export function typedOrder(letters: string): InputError {
  const typed = letters.toUpperCase().replace(/[\s,-]+/g, "");
  const odd = /[^AB]/.exec(typed);
  if (odd || typed === "") {
    return wrongOption(
      `--typed is "${letters}", but letters A (baseline) and B (changed) are needed`,
      "for example --typed ABBABAAB",
    );
  }
  const deal = Int8Array.from(typed, letter => (letter === "B" ? 1 : 0));
  return wrongOption(
    `the order ${typed} is typed, not drawn by lot: ${faultOf(deal)}`,
    "leave --typed out to have one drawn",
  );
}

function faultOf(deal: Deal): string {
  const ones = deal.reduce((sum, label) => sum + label, 0);
  if (ones === 0 || ones === deal.length) return "it has runs of one arm only, so nothing is compared";
  if (changesOf(deal) === 1) {
    return "all runs of one arm come before all of the other, so the part is confounded with the time of day, and judge calls that not a fair test";
  }
  const strict = deal.every((label, place) => place < 2 || label === deal[place - 2]);
  const [a, b] = [0, 1].map(arm => meanPlace(deal, arm));
  const drift =
    Math.abs(a - b) < 1e-9
      ? "its arms have the same mean place"
      : `the mean place of the arms is ${a.toFixed(1)} and ${b.toFixed(1)}, so a drift of the day acts on the difference`;
  const names = ORDER_NAMES.filter(
    order => orderProblem(order, deal.length) === null && couldDeal(order, deal.length, deal),
  );
  const could =
    names.length === 0
      ? "no order that can be named would deal it, so its labels cannot be exchanged fairly"
      : `${names.join(", ")} could have dealt it, but a typed order guards against nothing that its writer expected`;
  return `${strict ? "it alternates, so that driven out and back in turn the part is confounded with the direction; " : ""}${drift}; ${could}`;
}

function meanPlace(deal: Deal, arm: number): number {
  const places = [...deal.keys()].filter(place => deal[place] === arm);
  return places.reduce((sum, place) => sum + place + 1, 0) / places.length;
}
