import assert from "node:assert/strict";
import {describe, it} from "vitest";
import type {OrderName} from "../../lib/result/session.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {countDeals, dealOrder, drawDeal, listDeals, orderProblem} from "../../lib/trial/plan.ts";

const SMALL: [OrderName, number, number][] = [
  // By combinatorics: C(8,4), 2^4, 2^2, 6^2.
  ["complete", 8, 70],
  ["pairs", 8, 16],
  ["abba", 8, 4],
  ["blocks-of-4", 8, 36],
  // By hand for 4 runs: places 0+3 = 1+2. The others twice, independently: by listing all C(n, n/2) and by the
  // table of partial sums behind countDeals.
  ["drift-balanced", 4, 2],
  ["drift-balanced", 8, 8],
  ["drift-balanced", 12, 58],
  ["drift-balanced", 16, 526],
];

describe("listDeals", () => {
  it.each(SMALL)("lists every order of %s for %i runs once: %i", (order, runs, expected) => {
    const deals = [...listDeals(order, runs)].map(deal => deal.join(""));
    assert.equal(deals.length, expected);
    assert.equal(new Set(deals).size, expected);
    assert.equal(countDeals(order, runs), expected);
    for (const deal of deals) assert.equal([...deal].filter(label => label === "1").length, runs / 2);
  });

  it("lists the drift-balanced orders that filtering every order gives, in the same sequence", () => {
    for (const runs of [4, 8, 12, 16]) {
      const half = (runs * (runs - 1)) / 4;
      const slow = [...listDeals("complete", runs)].filter(
        deal => deal.reduce((sum, label, place) => sum + label * place, 0) === half,
      );
      assert.deepEqual([...listDeals("drift-balanced", runs)], slow);
    }
  });

  it("lists only orders with equal mean place as drift-balanced", () => {
    for (const deal of listDeals("drift-balanced", 12)) {
      const places = [0, 1].map(arm =>
        deal.reduce((sum, label, place) => (label === arm ? sum + place : sum), 0),
      );
      assert.equal(places[0], places[1]);
    }
  });
});

describe("drawDeal", () => {
  it.each([
    ["complete", 6],
    ["pairs", 6],
    ["abba", 8],
    ["blocks-of-4", 4],
    ["drift-balanced", 8],
  ] as [OrderName, number][])("draws each order of %s with the same chance", (order, runs) => {
    const random = createRandom(20, "test");
    const seen = new Map([...listDeals(order, runs)].map(deal => [deal.join(""), 0]));
    const expected = 400;
    for (let i = 0; i < expected * seen.size; i++) {
      const key = drawDeal(order, runs, random).join("");
      assert.ok(seen.has(key), `${key} is not an order of ${order}`);
      seen.set(key, seen.get(key)! + 1);
    }
    // Chi-square against equal counts: mean k − 1, variance 2(k − 1); five standard deviations.
    const chiSquare = [...seen.values()].reduce((sum, n) => sum + (n - expected) ** 2 / expected, 0);
    const degrees = seen.size - 1;
    assert.ok(chiSquare < degrees + 5 * Math.sqrt(2 * degrees), `chi-square ${chiSquare} with ${degrees}`);
  });

  it("gives the same order for the same seed and another for another", () => {
    const orders = [4711, 4711, 4712].map(seed =>
      dealOrder({order: "complete", runs: 16}, createRandom(seed, "order")).join(),
    );
    assert.equal(orders[0], orders[1]);
    assert.notEqual(orders[0], orders[2]);
  });

  it("says why an order cannot be dealt", () => {
    assert.match(orderProblem("abba", 10)!, /"abba" deals a multiple of 4 runs, not 10/);
    assert.equal(orderProblem("pairs", 10), null);
    assert.throws(() => drawDeal("complete", 5, createRandom(1, "order")), {
      name: "RangeError",
      message: /multiple of 2 runs, not 5/,
    });
  });
});
