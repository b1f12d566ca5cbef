import assert from "node:assert/strict";
import fc from "fast-check";
import {describe, it} from "vitest";
import type {OrderName} from "../../lib/result/session.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {answer} from "../../lib/trial/answer.ts";
import {compare} from "../../lib/trial/compare.ts";
import {decide} from "../../lib/trial/decide.ts";
import {drawDeal} from "../../lib/trial/plan.ts";
import {assertClose} from "../assert-close.ts";
import {labelsOf, toPlan, toRuns} from "./made-runs.ts";

const OPTIONS = {level: 0.95, worthwhile: 0.5, better: "lower" as const};
const VALUES = [5.6, 5.5, 5.52, 5.63, 5.48, 5.66, 5.61, 5.44];
const ORDERS = ["complete", "pairs", "abba", "blocks-of-4", "drift-balanced"] as const;

describe("answer", () => {
  it.each(ORDERS)("gives the interval and the state that compare gives: %s", order => {
    const random = createRandom(9, order);
    for (let day = 0; day < 10; day++) {
      const labels = drawDeal(order, 8, random);
      const runs = toRuns(
        labels,
        Float64Array.from(labels, label => 5 + 0.06 * random.normal() + 0.1 * label),
        i => ({
          excludedValue: null,
          direction: day % 2 && i % 2 ? "back" : "out",
          ...(i === day ? {value: null} : {}),
        }),
      );
      const options = {...OPTIONS, plan: toPlan(order, 8)};
      const lean = answer(runs, options);
      const full = compare(runs, {...options, seed: 1});
      assert.deepEqual(lean.effect, full.effect);
      assert.deepEqual(lean.effect.interval, full.interval);
      assert.deepEqual(lean.equivalence, full.equivalence);
      assert.deepEqual(lean.checks, full.checks);
      const {state} = decide({...full, worthwhile: OPTIONS.worthwhile, better: "lower"});
      assert.equal(lean.state, state);
    }
  });

  // Binomial standard error at 5 % of 4,000 days: 0.34 %.
  it.each([
    ["complete", 10],
    ["pairs", 12],
    ["abba", 8],
    ["drift-balanced", 12],
  ] as [OrderName, number][])("calls neither shown nor equivalent too often: %s, %i runs", (order, n) => {
    const DAYS = 4_000;
    const BOUND = 0.05 + 4 * Math.sqrt((0.05 * 0.95) / DAYS);
    const random = createRandom(21, `false alarms ${order}`);
    const counts = {shown: 0, equivalent: 0};
    for (let day = 0; day < DAYS; day++) {
      const labels = drawDeal(order, n, random);
      const at = (truth: number) => {
        const values = Float64Array.from(labels, label => truth * label + random.normal());
        return answer(toRuns(labels, values), {plan: toPlan(order, n), level: 0.95, worthwhile: 2}).state;
      };
      if (at(0).startsWith("shown")) counts.shown++;
      if (at(2) === "no-worthwhile-difference") counts.equivalent++; // just worthwhile
    }
    assert.ok(counts.shown / DAYS <= BOUND, `shown on ${counts.shown}`);
    assert.ok(counts.equivalent / DAYS <= BOUND, `equivalent on ${counts.equivalent}`);
  });

  it("answers or refuses in words whatever the values: no NaN, no p of zero", () => {
    const value = fc.oneof(
      fc.constantFrom(5, 5, 5.1, 0, -5, 1e-12, 1e12),
      fc.double({min: 4, max: 6, noNaN: true}),
      fc.constant(null),
    );
    fc.assert(
      fc.property(
        fc.constantFrom(...ORDERS, null),
        fc.array(fc.tuple(fc.integer({min: 0, max: 1}), value), {minLength: 1, maxLength: 10}),
        fc.constantFrom("run" as const, "fitting" as const),
        (order, runs, unit) => {
          const plan = order && toPlan(order as OrderName, null, {unit});
          const given = toRuns(
            runs.map(([label]) => label),
            [],
            i => ({value: runs[i][1], excludedValue: runs[i][1] === null ? 5 : null}),
          );
          const result = compare(given, {...OPTIONS, plan, seed: 1});
          assert.doesNotMatch(JSON.stringify(result), /NaN|Infinity/);
          walk(result);
          if (result.permutation) assert.ok(result.permutation.p > 0 && result.permutation.floor > 0);
          if (!result.interval) {
            const failed = result.checks.some(check => check.outcome === "failed");
            assert.ok(result.tooFew !== null || failed, "neither an interval nor a word why");
          }
        },
      ),
      {numRuns: 300},
    );

    /** No number that JSON would turn into null. */
    function walk(part: unknown): void {
      if (typeof part === "number") assert.ok(Number.isFinite(part), "a number that is not finite");
      else if (ArrayBuffer.isView(part)) (part as unknown as Float64Array).forEach(walk);
      else if (part && typeof part === "object") Object.values(part).forEach(walk);
    }
  });

  it.each([
    ["one run an arm", "AB", [1, 2], /the baseline arm has 1 usable run, 3 are needed/],
    ["no run of an arm", "AAA", [1, 2, 3], /the changed arm has 0 usable runs/],
  ] as const)("calls %s too few", (_title, order, values, words) => {
    const result = answer(toRuns(labelsOf(order), values), {...OPTIONS, plan: null});
    assert.equal(result.state, "too-few-runs");
    assert.match(result.effect.tooFew!, words);
  });

  it.each([
    ["all runs equal", "ABBABAAB", new Array(8).fill(5.5), {}, "spread between runs"],
    [
      "values on a straight drift, which the model fits exactly",
      "ABBABAAB",
      [0, 1, 2, 3, 4, 5, 6, 7].map(i => 5 + i / 64),
      {},
      "spread between runs",
    ],
    ["one changeover", "AAAABBBB", VALUES, {}, "changes of part"],
    [
      "an arm that always went one way",
      "ABBABAAB",
      VALUES,
      (i: number) => ({direction: "ABBABAAB"[i] === "A" ? "out" : "back"}),
      "arm told from the rest",
    ],
    ["blocks of one arm each", "AABBAABB", VALUES, (i: number) => ({block: 1 + Math.floor(i / 2)}), "blocks"],
    [
      "days of one arm each",
      "AABBAABB",
      VALUES,
      (i: number) => ({timeS: 1.8e9 + 86_400 * Math.floor(i / 2) + 600 * i}),
      "days",
    ],
  ] as const)("refuses %s in words", (_title, order, values, more, name) => {
    const runs = toRuns(labelsOf(order), values, typeof more === "function" ? (more as never) : () => ({}));
    const result = answer(runs, {...OPTIONS, plan: toPlan("abba")});
    assert.equal(
      result.checks.find(check => check.name === name)?.outcome,
      "failed",
      JSON.stringify(result.checks),
    );
    assert.equal(result.state, "not-a-fair-test");
  });

  it("keeps an interval where one arm alone has no spread, and where values tie everywhere", () => {
    const one = answer(toRuns(labelsOf("ABABABAB"), [5, 5.1, 5, 5.3, 5, 5.2, 5, 5.25]), {
      ...OPTIONS,
      plan: toPlan("complete"),
    });
    assert.ok(one.effect.interval!.low < one.effect.interval!.high);
    const tied = compare(toRuns(labelsOf("ABBABAAB"), [5, 6, 5, 6, 6, 5, 6, 5]), {
      ...OPTIONS,
      plan: toPlan("abba"),
      seed: 1,
    });
    assert.equal(tied.permutation!.p, 1);
    assertClose(tied.estimate!, 0, 1e-12);
  });

  it("warns of labels that no plan could have dealt, and gives no p for them", () => {
    const runs = toRuns(labelsOf("AABBABBA"), VALUES);
    const result = compare(runs, {...OPTIONS, plan: toPlan("abba"), seed: 1});
    const check = result.checks.find(({name}) => name === "order by lot")!;
    assert.equal(check.outcome, "doubtful");
    assert.match(check.words, /none that the plan could have dealt/);
    assert.equal(result.permutation, null);
    assert.match(
      result.beside.find(({name}) => name === "randomisation")!.words,
      /not possible: the order driven is none/,
    );
  });

  it("takes days apart from the clock: drift by order where the runs are of several", () => {
    const runs = toRuns(labelsOf("ABBABAAB"), VALUES, i => ({
      timeS: 1.8e9 + 86_400 * Math.floor(i / 4) + 600 * i,
    }));
    const result = answer(runs, {...OPTIONS, plan: toPlan("abba")});
    assert.match(result.effect.model.words, /drift by order/);
    assert.equal(result.checks.find(({name}) => name === "days")?.outcome, "doubtful");
  });
});
