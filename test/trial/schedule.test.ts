import assert from "node:assert/strict";
import fc from "fast-check";
import {describe, it} from "vitest";
import type {OrderName} from "../../lib/result/session.ts";
import {splits} from "../../lib/stats/deals.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {compare} from "../../lib/trial/compare.ts";
import {changesOf, countOrders, drawOrder, listOrders, meetsLimits} from "../../lib/trial/order-limits.ts";
import {simulatePower} from "../../lib/trial/plan-power.ts";
import {drawSchedule, ORDER_NAMES, orderChoice, runsNeeded, scheduledWays} from "../../lib/trial/schedule.ts";
import {toPlan, toRuns} from "./made-runs.ts";

/** n over k */
const over = (n: number, k: number): number => (k === 0 ? 1 : (n * over(n - 1, k - 1)) / k);

describe("countOrders", () => {
  it("counts limited changes as combinatorics does", () => {
    // By hand: 2m runs in at most c changes are c + 1 stretches at most, alternating. With r stretches the arm that starts has
    // ceil(r/2) of them and the other floor(r/2); m runs in s stretches can be cut in C(m − 1, s − 1) ways; either arm starts.
    for (const [runs, mostChanges] of [
      [8, 1],
      [8, 3],
      [12, 5],
      [12, 11],
    ]) {
      const half = runs / 2;
      let expected = 0;
      for (let stretches = 2; stretches <= mostChanges + 1; stretches++) {
        const [more, less] = [Math.ceil(stretches / 2), Math.floor(stretches / 2)];
        if (more <= half) expected += 2 * over(half - 1, more - 1) * over(half - 1, less - 1);
      }
      assert.equal(countOrders({order: "complete", runs, mostChanges}), expected);
    }
  });
  it("counts orders with as many out as back as combinatorics does", () => {
    // By hand: half of the places are out; the changed arm takes n/4 of the n/2 places out and n/4 of those back.
    for (const runs of [4, 8, 12]) {
      assert.equal(countOrders({order: "complete", runs, ways: "both"}), over(runs / 2, runs / 4) ** 2);
    }
    // Six runs: three of an arm cannot be as many out as back.
    assert.equal(countOrders({order: "complete", runs: 6, ways: "both"}), 0);
    // ABBA and BAAB have one of each arm in each direction, so every order of blocks is left.
    assert.equal(countOrders({order: "abba", runs: 12, ways: "both"}), 2 ** 3);
  });
  it("lists what filtering every split gives", () => {
    const slow = [...splits(12, 6)].filter(
      deal =>
        deal.reduce((sum, label, place) => sum + (label ? place : 0), 0) === 33 &&
        changesOf(deal) <= 6 &&
        deal.reduce((sum, label, place) => sum + (label ? (-1) ** place : 0), 0) === 0,
    );
    const plan = {order: "drift-balanced", runs: 12, mostChanges: 6, ways: "both"} as const;
    assert.deepEqual([...listOrders(plan)], slow);
    assert.ok(slow.length > 0);
    const random = createRandom(5, "test");
    for (let i = 0; i < 50; i++) assert.ok(meetsLimits(drawOrder(plan, random), plan));
  });
});

describe("orderChoice", () => {
  it("prints the floors that stand in tables", () => {
    // C(6,3) = 20 orders: 2/20. Two blocks of ABBA: 4 orders, 2/4. 58 drift-balanced orders of 12 runs: 2/58 = 0.034.
    assert.equal(orderChoice({order: "complete", runs: 6}).floor, 0.1);
    assert.equal(orderChoice({order: "abba", runs: 8}).floor, 0.5);
    const {orders, floor} = orderChoice({order: "drift-balanced", runs: 12});
    assert.equal(orders, 58);
    assert.equal(floor, 2 / 58);
  });
  it("gives the floor that the re-deals of a driven day reach", () => {
    const cases: [OrderName, number, object][] = [
      ["complete", 8, {}],
      ["pairs", 8, {}],
      ["drift-balanced", 12, {}],
      ["drift-balanced", 12, {mostChanges: 6}],
      ["blocks-of-4", 8, {ways: "both"}],
    ];
    for (const [order, runs, limits] of cases) {
      const plan = toPlan(order, runs, {seed: 3, ...limits});
      const arms = drawSchedule({order, runs, seed: 3, ...limits});
      const random = createRandom(11, "test");
      const driven = toRuns(
        arms.map(arm => (arm === "changed" ? 1 : 0)),
        arms.map(() => random.normal()),
      );
      const {permutation} = compare(driven, {plan, level: 0.95, seed: 1, worthwhile: 1, better: "lower"});
      const choice = orderChoice({order, runs, ...limits});
      assert.equal(permutation!.deals, choice.orders, order);
      assert.equal(permutation!.floor, choice.floor, order);
    }
  });
  it("says why an order is not offered", () => {
    assert.match(orderChoice({order: "abba", runs: 10}).problem!, /a multiple of 4 runs, not 10/);
    assert.match(orderChoice({order: "drift-balanced", runs: 12, mostChanges: 1}).problem!, /no order meets/);
    assert.match(
      orderChoice({order: "complete", runs: 40, mostChanges: 5}).problem!,
      /too many to go through/,
    );
  });
});

describe("drawSchedule", () => {
  it("draws an order of the plan for every seed, the same each time", () => {
    fc.assert(
      fc.property(
        fc.nat(1e6),
        fc.constantFrom(...ORDER_NAMES),
        fc.constantFrom(8, 12),
        fc.constantFrom<"one" | "both">("one", "both"),
        (seed, order, runs, ways) => {
          const plan = {order, runs, ways, seed};
          if (orderChoice(plan).problem) return;
          const arms = drawSchedule(plan);
          assert.deepEqual(drawSchedule(plan), arms);
          assert.ok(
            meetsLimits(
              Int8Array.from(arms, arm => (arm === "changed" ? 1 : 0)),
              plan,
            ),
          );
          assert.equal(
            scheduledWays({runs, ways}).filter(way => way === "back").length,
            ways === "both" ? runs / 2 : 0,
          );
        },
      ),
      {numRuns: 25, seed: 9},
    );
  });
  it("refuses limits that no order meets", () => {
    assert.throws(
      () => drawSchedule({order: "complete", runs: 8, mostChanges: 0, seed: 1}),
      /no order meets/,
    );
  });
});

describe("runsNeeded", () => {
  it("is the first number of runs that simulated days find enough", () => {
    // By simulation of whole days, 400 each: standard error 2 points, so 6 points are three of them.
    const runs = runsNeeded("drift-balanced", 1.5)!;
    const share = (n: number) =>
      simulatePower({order: "drift-balanced", runs: n}, 1.5, {days: 400, seed: 21})!;
    assert.ok(share(runs) > 0.8 - 0.06);
    assert.ok(share(runs - 4) < 0.8 + 0.06);
    assert.ok(share(runs - 4) < share(runs));
  });
  it("says that a tenth of a per cent in a spread of 1.5 % takes more than a day", () => {
    assert.equal(runsNeeded("drift-balanced", 0.1 / 1.5), null);
    assert.throws(() => runsNeeded("complete", 0), /must be above 0/);
  });
});
