import assert from "node:assert/strict";
import {describe, it} from "vitest";
import type {OrderName, Plan} from "../../lib/result/session.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {compare} from "../../lib/trial/compare.ts";
import {estimateEffect} from "../../lib/trial/effect.ts";
import type {TrialRun} from "../../lib/trial/model.ts";
import {dealOrder} from "../../lib/trial/plan.ts";
import {assertClose} from "../assert-close.ts";
import {reference} from "../reference.ts";

const {row, datasets} = reference("trial");

function toRuns(labels: readonly number[], values: readonly number[]): TrialRun[] {
  return values.map((value, i) => ({
    run: i + 1,
    arm: labels[i] ? "changed" : "baseline",
    value,
    block: null,
    direction: null,
    timeS: null,
    refitted: false,
  }));
}

const plan = (order: OrderName, runs: number | null = null): Plan => ({
  order,
  runs,
  seed: null,
  looks: 1,
  locked: null,
});
const OPTIONS = {level: 0.95, seed: 1, worthwhile: 0.5};

describe("compare", () => {
  it("is Welch's t for two means, on Student's sleep data", () => {
    // Student (1908), sleep data as the R dataset sleep; t.test of R 4.2.2 (row A6-sleep-welch).
    const {expected} = row("A6-sleep-welch");
    const {drug1, drug2} = datasets["student.sleep"];
    // Two groups in an order that a complete plan could have dealt.
    const runs = toRuns([...drug2.map(() => 0), ...drug1.map(() => 1)], [...drug2, ...drug1]);
    const result = compare(runs, {...OPTIONS, plan: plan("complete")});
    assertClose(result.estimate! / result.standardError!, expected.t, {rel: 1e-10}, "t");
    assertClose(result.df!, expected.df, {rel: 1e-10}, "df");
    assertClose(result.interval!.low, expected.ci95[0], {rel: 1e-7}, "low");
    assertClose(result.interval!.high, expected.ci95[1], {rel: 1e-7}, "high");
  });

  it("is the paired t for pairs, on Student's sleep data", () => {
    const {expected} = row("A6-sleep-paired");
    const {drug1, drug2} = datasets["student.sleep"] as Record<string, number[]>;
    const labels = drug1.flatMap((_, i) => (i % 2 ? [0, 1] : [1, 0]));
    const values = drug1.flatMap((value, i) => (i % 2 ? [drug2[i], value] : [value, drug2[i]]));
    const result = compare(toRuns(labels, values), {...OPTIONS, plan: plan("pairs")});
    assertClose(result.estimate!, expected.mean_diff, 1e-12);
    assert.equal(result.df, expected.df);
    assertClose(result.interval!.low, expected.ci95[0], {rel: 1e-7}, "low");
    assertClose(result.interval!.high, expected.ci95[1], {rel: 1e-7}, "high");
  });

  it("gives Fisher's counts for Darwin's maize, by the re-deals of 15 pairs", () => {
    // Fisher, The Design of Experiments (1935), §21: 863 of 32768 one-sided (from memory; recounted).
    const {expected} = row("A8-darwin-exact");
    const differences: number[] = datasets["darwin.maize"].diff_eighths_inch;
    const runs = toRuns(
      differences.flatMap(() => [0, 1]),
      differences.flatMap((difference, i) => [100 + i, 100 + i + difference]),
    );
    const {permutation, interval} = compare(runs, {...OPTIONS, plan: plan("pairs")});
    assert.equal(permutation!.deals, expected.assignments);
    assertClose(permutation!.p, expected.p_two_sided, 1e-12);
    assertClose(permutation!.floor, 2 / 32768, 1e-12);
    const ci = row("A6-darwin-t").expected.ci95;
    assertClose(interval!.low, ci[0], 1e-7);
    assertClose(interval!.high, ci[1], {rel: 1e-7});
  });

  it("agrees with numpy on six ABBA blocks, by lot and by model", () => {
    // Row A8-abba-restricted: invented data, arrangements counted with numpy. A block's linear drift cancels, so the
    // effect of the plan's model (arm + one drift) on this steady drift is close to the mean block difference.
    const {expected} = row("A8-abba-restricted");
    const blocks: {order: string; times_s: number[]}[] = datasets["own.abba6"].blocks;
    const runs = toRuns(
      blocks.flatMap(block => [...block.order].map(letter => (letter === "B" ? 1 : 0))),
      blocks.flatMap(block => block.times_s),
    );
    const result = compare(runs, {...OPTIONS, plan: plan("abba")});
    assert.equal(result.permutation!.deals, expected.arrangements);
    assertClose(result.permutation!.p, expected.p_randomisation_two_sided, 1e-12);
    assertClose(result.permutation!.floor, 2 / 64, 1e-12);
    assertClose(result.estimate!, expected.mean, 0.002); // another drift model; a fifth of its standard error
  });

  it.each([
    ["ABBA", 0],
    ["BAAB", 0],
    ["AABB", 0.1],
    ["ABAB", 0.05],
  ])("shows how much of a linear drift %s lets through: %f", (order, expected) => {
    // Row A8-abba-drift, by hand: y = 10 + 0.05 k.
    const labels = [...order].map(letter => (letter === "B" ? 1 : 0));
    const {fit} = estimateEffect(
      toRuns(
        labels,
        [0, 1, 2, 3].map(k => 10 + 0.05 * k),
      ),
      {plan: plan("complete"), level: 0.95},
    );
    assertClose(fit!.estimate, expected, 1e-12);
  });

  it("gives the same numbers twice, and others only for the random parts with another seed", () => {
    const values = [5.6, 5.5, 5.52, 5.63, 5.48, 5.66, 5.61, 5.44];
    const runs = toRuns([0, 1, 1, 0, 1, 0, 0, 1], values);
    const at = (seed: number) => compare(runs, {...OPTIONS, seed, plan: plan("abba")});
    assert.deepEqual(at(1), at(1));
    assert.deepEqual(at(1).interval, at(2).interval);
    assert.deepEqual(at(1).permutation, at(2).permutation);
    assert.notDeepEqual(at(1).check, at(2).check);
  });

  it("puts fewer than 3 runs an arm, and fewer than 3 degrees of freedom, into words", () => {
    const few = compare(toRuns([0, 1, 1, 0], [1, 2, 3, 4]), {...OPTIONS, plan: plan("abba")});
    assert.match(few.tooFew!, /the baseline arm has 2 usable runs, 3 are needed/);
    assert.equal(few.interval, null);
    const pairs = compare(toRuns([0, 1, 1, 0, 0, 1], [1, 2, 3, 4, 2, 3]), {...OPTIONS, plan: plan("pairs")});
    assert.match(pairs.tooFew!, /6 runs leave 2 degrees of freedom .*\(arm \+ pair\), 3 are needed/);
    assert.equal(pairs.permutation, null);
    const none = compare(toRuns([0, 0, 0], [1, 2, 3]), {...OPTIONS, plan: null});
    assert.match(none.tooFew!, /the changed arm has 0 usable runs/);
  });

  it("fails the checks of a test in which nothing can tell the part from something else", () => {
    const outcome = (runs: TrialRun[], name: string, by: Plan | null) =>
      compare(runs, {...OPTIONS, plan: by}).checks.find(check => check.name === name)?.outcome;
    const values = [1, 1.2, 1.1, 1.3, 1.2, 1.25];
    assert.equal(outcome(toRuns([0, 0, 0, 1, 1, 1], values), "changes of part", null), "failed");
    const back = toRuns([0, 1, 0, 1, 0, 1], values).map((run, i) => ({
      ...run,
      direction: i % 2 ? ("back" as const) : ("out" as const),
    }));
    assert.equal(outcome(back, "arm told from the rest", plan("complete")), "failed");
    assert.equal(
      outcome(toRuns([0, 1, 0, 1, 0, 1], [1, 2, 1, 2, 1, 2]), "spread between runs", plan("complete")),
      "failed",
    );
    assert.equal(outcome(toRuns([0, 1, 1, 0, 0, 1], values), "order by lot", null), "not-checkable");
    assert.equal(
      outcome(toRuns([0, 1, 0, 1, 1, 0, 0, 1], [...values, 1, 1.1]), "order by lot", plan("abba")),
      "doubtful",
    );
  });

  it("refuses a value that is no number", () => {
    assert.throws(() => compare(toRuns([0, 1, 0, 1], [1, 2, Number.NaN, 3]), {...OPTIONS, plan: null}), {
      name: "RangeError",
      message: /the value of run 3 is NaN/,
    });
  });
});

describe("estimateEffect", () => {
  // Coverage of the default interval at its smallest and usual designs, with and without drift, by simulation. 4,000 days:
  // the binomial standard error at 95 % is 0.34 %, the bounds are four of them. Wider checks: npm run calibrate.
  const DAYS = 4_000;
  const BOUND = 4 * Math.sqrt((0.95 * 0.05) / DAYS);
  it.each([
    ["complete", 6, 0],
    ["complete", 10, 0],
    ["pairs", 8, 0.003],
    ["abba", 8, 0],
    ["abba", 8, 0.003],
    ["drift-balanced", 12, 0.003],
  ] as [OrderName, number, number][])(
    "covers what it claims: %s, %i runs, drift %f a run",
    (order, n, drift) => {
      const random = createRandom(77, `coverage ${order} ${n} ${drift}`);
      const truth = -0.02;
      let covered = 0;
      for (let day = 0; day < DAYS; day++) {
        const arms = dealOrder({order, runs: n}, random);
        const labels = arms.map(arm => (arm === "changed" ? 1 : 0));
        const values = labels.map((label, i) => 1 + truth * label + drift * i + 0.008 * random.normal());
        const {interval} = estimateEffect(toRuns(labels, values), {plan: plan(order, n), level: 0.95});
        if (interval!.low <= truth && truth <= interval!.high) covered++;
      }
      const share = covered / DAYS;
      // Welch at 3 + 3 errs on the wide side (up to 97 %); everything here must not fall below its claim.
      assert.ok(share >= 0.95 - BOUND, `covers ${share}`);
      assert.ok(share <= 0.975 + BOUND, `covers ${share}`);
    },
  );
});
