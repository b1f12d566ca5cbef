import assert from "node:assert/strict";
import {describe, it} from "vitest";
import type {OrderName} from "../../lib/result/session.ts";
import {smallestDetectableEffect} from "../../lib/stats/power.ts";
import {planPower, simulatePower, smallestShown} from "../../lib/trial/plan-power.ts";
import {assertClose} from "../assert-close.ts";
import {reference} from "../reference.ts";

const {row} = reference("stats-power");

describe("smallestShown", () => {
  it("is that of the t test for two means and for pairs", () => {
    // Two means of n: standard error √(2/n), 2n − 2 df; pairs: that of the difference of two runs, n − 1 df.
    const two = smallestDetectableEffect({df: 14, standardErrorFactor: Math.sqrt(2 / 8)});
    // Welch's degrees of freedom are fewer than 14, so it takes a little more.
    const welch = smallestShown({order: "complete", runs: 16})!;
    assert.ok(welch > two && welch < 1.03 * two, String(welch / two));
    const pairs = smallestDetectableEffect({df: 7, standardErrorFactor: Math.sqrt(2 / 8)});
    assertClose(smallestShown({order: "pairs", runs: 16})!, pairs, {rel: 1e-9});
    // A drift that the order balances costs one degree of freedom and no precision.
    const drift = smallestDetectableEffect({df: 13, standardErrorFactor: Math.sqrt(2 / 8)});
    assertClose(smallestShown({order: "abba", runs: 16})!, drift, {rel: 1e-9});
    // blocks-of-4 are not all balanced against the drift, so they cost some precision.
    const some = smallestShown({order: "blocks-of-4", runs: 16})!;
    assert.ok(some > drift && some < 1.1 * drift, String(some / drift));
  });

  it("has the power that it names", () => {
    for (const order of ["complete", "pairs", "abba", "blocks-of-4", "drift-balanced"] as OrderName[]) {
      const difference = smallestShown({order, runs: 12}, {power: 0.8})!;
      assertClose(planPower({order, runs: 12}, difference)!, 0.8, 1e-9);
    }
  });

  it("lies a little below published power of the test of equal spread for two means", () => {
    // Row A10-t-power: noncentral t, scipy and R. Two samples of n each, difference in standard deviations.
    const {cases} = row("A10-t-power") as unknown as {cases: Record<string, unknown>[]};
    const two = cases.filter(
      one => one.type === "two.sample" && one.power !== undefined && Number(one.n) <= 64,
    );
    assert.equal(two.length, 4);
    for (const {n, d, power} of two as {n: number; d: number; power: number}[]) {
      const short = power - planPower({order: "complete", runs: 2 * n}, d)!;
      assert.ok(short > -0.001 && short < 0.2 / n, `n ${n}: ${short}`); // the error of the average; what Welch's fewer degrees cost
    }
  });

  it("has none for plans with too few runs, and refuses orders that cannot be dealt", () => {
    assert.equal(smallestShown({order: "abba", runs: 4}), null);
    assert.equal(smallestShown({order: "pairs", runs: 6}), null);
    assert.equal(simulatePower({order: "pairs", runs: 6}, 1, {seed: 1}), null);
    assert.throws(() => smallestShown({order: "abba", runs: 10}), /multiple of 4 runs, not 10/);
  });
});

describe("simulatePower", () => {
  // 2,000 days: binomial standard error 0.9 % at a power of 80 %; four of them.
  const DAYS = 2_000;
  const BOUND = 4 * Math.sqrt((0.8 * 0.2) / DAYS);
  it.each([
    ["complete", 12, false],
    ["complete", 20, false],
    ["pairs", 12, false],
    ["abba", 8, false],
    ["abba", 12, true],
    ["blocks-of-4", 12, false],
    ["drift-balanced", 12, false],
    ["drift-balanced", 16, true],
  ] as [OrderName, number, boolean][])(
    "agrees with noncentral t: %s, %i runs, both directions %s",
    (order, runs, bothDirections) => {
      const plan = {order, runs, bothDirections};
      const difference = smallestShown(plan)!;
      assertClose(simulatePower(plan, difference, {days: DAYS, seed: 6})!, 0.8, BOUND);
    },
  );

  it("agrees with it at three and four runs an arm, where Welch's degrees of freedom are few", () => {
    for (const [runs, difference] of [
      [6, 3],
      [8, 2],
    ]) {
      const plan = {order: "complete", runs} as const;
      const power = planPower(plan, difference)!;
      assertClose(simulatePower(plan, difference, {days: DAYS, seed: 8})!, power, 4 * Math.sqrt(0.25 / DAYS));
    }
  });
});
