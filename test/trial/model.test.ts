import assert from "node:assert/strict";
import {describe, it} from "vitest";
import type {OrderName, Plan} from "../../lib/result/session.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {numberFittings} from "../../lib/trial/fittings.ts";
import {planModel, type TrialRun} from "../../lib/trial/model.ts";
import {redeals} from "../../lib/trial/redeals.ts";

/** Runs from a word like "ABBA": A = baseline. */
function runs(order: string, more: (i: number) => Partial<TrialRun> = () => ({})): TrialRun[] {
  return [...order].map((letter, i) => ({
    run: i + 1,
    arm: letter === "A" ? "baseline" : "changed",
    value: 5 + i / 100,
    block: null,
    direction: null,
    timeS: null,
    refitted: false,
    ...more(i),
  }));
}

const plan = (order: OrderName, n: number | null = null): Plan => ({
  order,
  runs: n,
  seed: null,
  looks: 1,
  locked: null,
});

describe("planModel", () => {
  it.each([
    ["two means for a complete order", runs("AABBAB"), plan("complete"), "arm", ["mean", "arm"]],
    ["a term a pair", runs("ABBAAB"), plan("pairs"), "arm + pair", ["mean", "pair 2", "pair 3", "arm"]],
    [
      "a drift for blocks",
      runs("ABBABAAB"),
      plan("abba"),
      "arm + linear drift by order",
      ["mean", "drift", "arm"],
    ],
    [
      "a drift for drift-balanced orders",
      runs("ABBA"),
      plan("drift-balanced"),
      "arm + linear drift by order",
      ["mean", "drift", "arm"],
    ],
    [
      "clock time where every run has it",
      runs("ABBA", i => ({timeS: 600 * i ** 1.5})),
      plan("abba"),
      "arm + linear drift by clock time",
      ["mean", "drift", "arm"],
    ],
    [
      "a direction where both were driven",
      runs("AABB", i => ({direction: i % 2 ? "back" : "out"})),
      plan("complete"),
      "arm + direction",
      ["mean", "direction", "arm"],
    ],
    ["two means without plan or blocks", runs("ABAB"), null, "arm", ["mean", "arm"]],
    [
      "pairs without a plan where blocks are of two",
      runs("ABBA", i => ({block: Math.floor(i / 2)})),
      null,
      "arm + pair",
      ["mean", "pair 1", "arm"],
    ],
    [
      "a drift without a plan where blocks are larger",
      runs("ABBABAAB", i => ({block: Math.floor(i / 4)})),
      null,
      "arm + linear drift by order",
      ["mean", "drift", "arm"],
    ],
  ] as const)("has %s", (_title, given, byPlan, words, names) => {
    const model = planModel(given, byPlan);
    assert.equal(model.words, words);
    assert.deepEqual(
      model.terms.map(term => term.name),
      names,
    );
  });

  it("leaves out excluded runs, and runs whose pair has no partner", () => {
    const given = runs("ABBAAB");
    given[2].value = null;
    assert.deepEqual(
      planModel(given, plan("pairs")).runs.map(run => run.run),
      [1, 2, 5, 6],
    );
    assert.deepEqual(
      planModel(given, plan("complete")).runs.map(run => run.run),
      [1, 2, 4, 5, 6],
    );
  });
});

describe("redeals", () => {
  const random = () => createRandom(1, "redeal");

  it("lists what the plan could have dealt, excluded runs in their places", () => {
    const given = runs("ABBABAAB");
    given[3].value = null;
    const dealt = redeals(given, plan("abba"), random());
    assert.ok(dealt.deals && dealt.complete);
    assert.deepEqual([...dealt.deals].map(deal => deal.join("")).sort(), [
      "01100110",
      "01101001",
      "10010110",
      "10011001",
    ]);
  });

  it("keeps the first places of each planned deal when the day was cut short", () => {
    const dealt = redeals(runs("ABBAB"), plan("abba", 8), random());
    assert.ok(dealt.deals);
    assert.deepEqual([...dealt.deals].map(deal => deal.join("")).sort(), [
      "01100",
      "01101",
      "10010",
      "10011",
    ]);
  });

  it("says when the order driven is none of the plan's", () => {
    const dealt = redeals(runs("AABB"), plan("abba"), random());
    assert.equal(dealt.deals, null);
    assert.match((dealt as {reason: string}).reason, /none that the plan could have dealt/);
    const odd = redeals(runs("ABBAA"), plan("pairs"), random());
    assert.match((odd as {reason: string}).reason, /multiple of 2 runs, not 5/);
  });

  it("exchanges within blocks, or among all runs, without a plan", () => {
    // By combinatorics: 2 blocks of 2 + 2: C(4,2)²; 3 of 7 without blocks: C(7,3).
    const blocked = redeals(
      runs("ABBABAAB", i => ({block: Math.floor(i / 4)})),
      null,
      random(),
    );
    assert.equal([...blocked.deals!].length, 36);
    const free = redeals(runs("ABABAAB"), null, random());
    assert.equal([...free.deals!].length, 35);
    for (const deal of free.deals!)
      assert.equal(
        deal.reduce((sum, label) => sum + label, 0),
        3,
      );
    assert.equal(new Set([...free.deals!].map(deal => deal.join(""))).size, 35);
  });

  it("draws a seeded sample where the deals are too many to list", () => {
    const order = "AB".repeat(12); // C(24, 12) = 2,704,156
    const [one, two] = [
      redeals(runs(order), plan("complete"), random()),
      redeals(runs(order), plan("complete"), random()),
    ];
    assert.ok(one.deals && two.deals && !one.complete);
    assert.equal(one.count, 2_704_156);
    assert.equal([...one.deals].length, 20_000);
    assert.deepEqual([...one.deals][19_999], [...two.deals][19_999]);
  });
});

describe("numberFittings", () => {
  it("starts a new one where the arm changes or the part was taken off and put on again", () => {
    const given = runs("AABBBA");
    given[4].refitted = true;
    assert.deepEqual(numberFittings(given), [1, 1, 2, 2, 3, 4]);
  });
});
