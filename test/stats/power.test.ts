import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {equivalence} from "../../lib/stats/equivalence.ts";
import {equivalencePower} from "../../lib/stats/equivalence-power.ts";
import {noncentralFUpperTail} from "../../lib/stats/noncentral-f.ts";
import {
  anovaPower,
  anovaSampleSize,
  sampleSizeForHalfWidth,
  smallestDetectableEffect,
  smallestWhole,
  tTestPower,
  tTestSampleSize,
} from "../../lib/stats/power.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {welchDifference} from "../../lib/stats/two-sample.ts";
import {assertClose} from "../assert-close.ts";
import {assertShare, reference} from "./reference.ts";

const {row} = reference("power");

function samples(type: string, n: number) {
  return type.startsWith("paired")
    ? {df: n - 1, standardErrorFactor: 1 / Math.sqrt(n)}
    : {df: 2 * (n - 1), standardErrorFactor: Math.sqrt(2 / n)};
}

function sides(type: string): 1 | 2 {
  return type.includes("one-sided") ? 1 : 2;
}

describe("power of t tests", () => {
  it("meets A10-t-power", () => {
    // R 4.2.2 power.t.test, two programs agree; the row asks 1e-9
    const {cases} = row<{type: string; n: number; d: number; power?: number; power_strict?: number}>(
      "A10-t-power",
    );
    for (const {type, n, d, power, power_strict} of cases) {
      const found = tTestPower(d, {
        ...samples(type, n),
        sides: sides(type),
        eitherSign: power_strict !== undefined,
      });
      assertClose(found, power ?? power_strict!, 1e-9, `${type} ${n}`);
    }
  });

  it("meets A10-t-n", () => {
    const {cases} = row<{type: string; d: number; power: number; n: number}>("A10-t-n");
    for (const {type, d, power, n} of cases) {
      const found = tTestSampleSize(d, {
        design: type.startsWith("paired") ? "paired" : "two-sample",
        power,
        level: type.includes("alpha=.01") ? 0.99 : 0.95,
        sides: sides(type),
        eitherSign: type.includes("strict"),
      });
      assertClose(found!, n, {rel: 1e-6}, type);
    }
  });

  it("finds the effect that is detected with the chance asked for", () => {
    // the other way round, from the rows of A10-t-power: 20 a side, 0.868952801692498 at d = 1
    const plan = {df: 38, standardErrorFactor: Math.sqrt(2 / 20)};
    assertClose(smallestDetectableEffect({...plan, power: 0.868952801692498}), 1, 1e-8);
    assertClose(tTestPower(smallestDetectableEffect(plan), plan), 0.8, 1e-12);
    const known = {df: Number.POSITIVE_INFINITY, standardErrorFactor: 1};
    assertClose(smallestDetectableEffect(known), 1.959963984540054 + 0.8416212335729143, 1e-12); // normal quantiles
  });

  it("agrees with simulated tests", () => {
    const random = createRandom(1, "power");
    const n = 2000;
    let found = 0;
    for (let day = 0; day < n; day++) {
      const a = Array.from({length: 6}, () => random.normal());
      const b = Array.from({length: 6}, () => 1.8 + random.normal());
      const {interval} = welchDifference(a, b);
      if (interval!.low > 0) found++;
    }
    // Welch's df lie a little below 10, which costs less than 0.01 here
    const exact = tTestPower(1.8, {df: 10, standardErrorFactor: Math.sqrt(2 / 6)});
    assertClose(found / n, exact, 0.01 + 4 * Math.sqrt((exact * (1 - exact)) / n));
  });

  it("answers null where two suffice or no number does, and refuses power below the false alarms", () => {
    assert.equal(tTestSampleSize(1e6, {design: "paired"}), null);
    assert.equal(tTestSampleSize(1e-6, {design: "paired"}), null);
    assert.throws(() => smallestDetectableEffect({df: 5, standardErrorFactor: 1, power: 0.04}), {
      name: "RangeError",
      message: /no more than the false alarms/,
    });
    assert.throws(() => tTestPower(-1, {df: 5, standardErrorFactor: 1}), {message: /at least 0/});
    assert.throws(() => tTestPower(1, {df: 5, standardErrorFactor: 0}), {message: /standardErrorFactor/});
  });
});

describe("power of the analysis of variance", () => {
  it("meets A10-anova-n", () => {
    // R's power.anova.test, example of its help page; the row asks 1e-5
    const {power_n5, ...expected} = row<Record<string, number>>("A10-anova-n").expected;
    const plan = {groups: 4, betweenVariance: 1, withinVariance: 3};
    assertClose(anovaPower(5, plan), power_n5, {rel: 1e-5});
    assertClose(anovaSampleSize(plan)!, expected["n_for_power_0.8"], {rel: 1e-5});
  });

  it("is the square of a t test for two groups", () => {
    const t = tTestPower(0.9, {...samples("two", 12), eitherSign: true});
    assertClose(anovaPower(12, {groups: 2, betweenVariance: 0.9 ** 2 / 2, withinVariance: 1}), t, 1e-6);
    assertClose(noncentralFUpperTail(0, {df1: 2, df2: 9, noncentrality: 3}), 1, 1e-12);
    assert.throws(() => noncentralFUpperTail(-1, {df1: 2, df2: 9, noncentrality: 3}), {name: "RangeError"});
  });
});

describe("sample size for an interval", () => {
  it("meets A10-ci-halfwidth and A10-ci-halfwidth-t", () => {
    const normal = sampleSizeForHalfWidth(0.08, 0.05, {quantile: "normal"});
    assert.equal(normal, row<{n_z: number}>("A10-ci-halfwidth").expected.n_z);
    assert.equal(sampleSizeForHalfWidth(0.08, 0.05), row<{n: number}>("A10-ci-halfwidth-t").expected.n);
    assert.equal(sampleSizeForHalfWidth(0.01, 5), 2);
  });
});

interface Tost {
  design?: string;
  CV?: number;
  n_total?: number;
  ratio?: number;
  sd?: number;
  n?: number;
  n_per_group?: number;
  diff?: number;
  limits?: [number, number];
  power: number;
}

function crossover(CV: number, n: number): number {
  // standard error √ln(1 + CV²)·√(2/n), df n − 2, ratio 0.95, limits 0.8 to 1.25 on the log scale
  const standardError = Math.sqrt(Math.log1p(CV * CV)) * Math.sqrt(2 / n);
  return equivalencePower(Math.log(0.95), {standardError, df: n - 2, margin: Math.log(1.25)});
}

describe("power of two one-sided tests", () => {
  it("meets A9-tost-power", () => {
    for (const {CV, n_total, sd, n, n_per_group, diff, power} of row<Tost>("A9-tost-power").cases) {
      let found: number;
      if (CV !== undefined) found = crossover(CV, n_total!);
      else if (sd !== undefined) {
        const options = {standardError: sd * Math.sqrt(4 / n_total!), df: n_total! - 2, margin: 0.2};
        found = equivalencePower(diff!, options);
      } else if (n !== undefined) {
        found = equivalencePower(diff!, {standardError: 1 / Math.sqrt(n), df: n - 1, margin: 0.5});
      } else {
        const options = {standardError: Math.sqrt(2 / n_per_group!), df: 2 * n_per_group! - 2, margin: 0.5};
        found = equivalencePower(diff!, options);
      }
      assertClose(found, power, 1e-7); // the row's own tolerance
    }
  });

  it("meets A9-tost-n", () => {
    for (const {CV, n, power} of row<{CV: number; n: number; power: number}>("A9-tost-n").cases) {
      assert.equal(
        smallestWhole(runs => crossover(CV, runs) >= 0.8, {from: 4, step: 2}),
        n,
      );
      assertClose(crossover(CV, n), power, 1e-9);
    }
    assert.equal(
      smallestWhole(() => false, {most: 10}),
      null,
    );
  });

  it("agrees with simulated tests, where equivalence cannot often be shown too", () => {
    const random = createRandom(1, "tost power");
    const n = 4000;
    let held = 0;
    for (let day = 0; day < n; day++) {
      const estimate = 0.3 + random.normal();
      let squares = 0;
      for (let i = 0; i < 5; i++) squares += random.normal() ** 2;
      if (equivalence(estimate, Math.sqrt(squares / 5), {df: 5, margin: 2.5}).holds) held++;
    }
    assertShare(held, n, equivalencePower(0.3, {standardError: 1, df: 5, margin: 2.5}));
  });
});
