import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {normalCdf, studentTCdf, studentTQuantile} from "../../lib/stats/distributions.ts";
import {noncentralTCdf, noncentralTQuantile, noncentralTUpperTail} from "../../lib/stats/noncentral-t.ts";
import {overScale} from "../../lib/stats/over-scale.ts";
import {panels} from "../../lib/stats/quadrature.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {findRoot} from "../../lib/stats/root.ts";
import {
  maxAbsTCdf,
  maxAbsTQuantile,
  studentisedRangeCdf,
  studentisedRangeQuantile,
} from "../../lib/stats/simultaneous.ts";
import {summarise} from "../../lib/stats/summary.ts";
import {toleranceFactorOneSided, toleranceFactorTwoSided} from "../../lib/stats/tolerance.ts";
import {assertClose} from "../assert-close.ts";
import {assertShare, reference} from "./reference.ts";

const {row} = reference("critical-values");

describe("panels and findRoot", () => {
  it("integrate polynomials and roots of their own", () => {
    // By hand: ∫ x³¹ from 0 to 1 = 1/32, exact for one panel of 16 points; ∫ eˣ from −1 to 3.
    const integral = (f: (x: number) => number, low: number, high: number): number => {
      const {points, weights} = panels(low, high, {width: 2});
      return points.reduce((sum, x, i) => sum + weights[i] * f(x), 0);
    };
    assertClose(
      integral(x => x ** 31, 0, 1),
      1 / 32,
      1e-15,
    );
    assertClose(integral(Math.exp, -1, 3), Math.exp(3) - Math.exp(-1), {rel: 1e-14});
    assertClose(
      findRoot(x => x * x - 2, 0, 10),
      Math.SQRT2,
      {rel: 1e-15},
    );
    assertClose(
      findRoot(x => Math.log(x), 0, 7),
      1,
      {rel: 1e-15},
      "infinite at one end",
    );
    assert.throws(() => findRoot(x => x * x + 1, -1, 1), {name: "RangeError", message: /no change of sign/});
  });

  it("average over the spread with moments known in closed form", () => {
    // E S² = 1 for every df; df = 2: E S = √π/2
    for (const df of [0.5, 1, 2, 7.5, 300, 1e6]) {
      assertClose(
        overScale(df, s => s * s),
        1,
        1e-12,
        `df ${df}`,
      );
    }
    assertClose(
      overScale(2, s => s),
      Math.sqrt(Math.PI) / 2,
      1e-13,
    );
    // P(S < 1) with df = 2 is 1 − 1/e
    assertClose(
      overScale(2, () => 1, {upTo: 1}),
      1 - Math.exp(-1),
      1e-13,
    );
    assert.equal(
      overScale(Number.POSITIVE_INFINITY, s => 3 * s),
      3,
    );
  });
});

describe("noncentral t", () => {
  it("meets A5-nct-cdf", () => {
    // mpmath 1.3.0 by integration over the chi distribution; the row asks 1e-9
    for (const c of row<Record<string, number>>("A5-nct-cdf").cases) {
      const shape = {df: c.df, noncentrality: c.ncp};
      assertClose(noncentralTCdf(c.t, shape), c.cdf, {rel: 1e-9}, JSON.stringify(c));
      assertClose(noncentralTUpperTail(c.t, shape), 1 - c.cdf, 1e-9, JSON.stringify(c));
      // where cdf is within 1e-10 of 1 the quantile is ill-conditioned in cdf; 1e-9 of the smaller tail moves it by less than this
      if (c.cdf < 0.9999) assertClose(noncentralTQuantile(c.cdf, shape), c.t, 1e-7, JSON.stringify(c));
    }
  });

  it("is Student's t without noncentrality and the normal distribution with infinite df", () => {
    for (const t of [-3, 0, 0.7, 12]) {
      // jStat's t is good to 1e-7
      assertClose(noncentralTCdf(t, {df: 4.5, noncentrality: 0}), studentTCdf(t, 4.5), 1e-7);
      const far = {df: Number.POSITIVE_INFINITY, noncentrality: 1.5};
      assertClose(noncentralTCdf(t, far), normalCdf(t - 1.5), 1e-15);
    }
  });

  it("finds the step of a huge noncentrality", () => {
    // T ≤ t means S ≥ noncentrality/t but for the normal part: df 2, P(S ≥ 1) = 1/e
    assertClose(noncentralTCdf(1e6, {df: 2, noncentrality: 1e6}), Math.exp(-1), 1e-9);
    assertClose(noncentralTCdf(-1e6, {df: 2, noncentrality: -1e6}), 1 - Math.exp(-1), 1e-9);
  });

  it("refuses what is not a number", () => {
    assert.throws(() => noncentralTCdf(Number.NaN, {df: 3, noncentrality: 1}), {name: "RangeError"});
    assert.throws(() => noncentralTCdf(1, {df: 0, noncentrality: 1}), {message: /degrees of freedom/});
    assert.throws(() => noncentralTQuantile(1, {df: 2, noncentrality: 1}), {message: /p must lie/});
  });
});

describe("simultaneous critical values", () => {
  it("meet Šidák's values with known spread", () => {
    for (const {k, sidak_z} of row<{k: number; sidak_z: number}>("A12-max-z").cases) {
      assertClose(maxAbsTQuantile(0.95, {count: k, df: Number.POSITIVE_INFINITY}), sidak_z, {rel: 1e-9});
    }
  });

  it("meet the studentised maximum modulus", () => {
    for (const {k, df, c} of row<{k: number; df: number; c: number}>("A12-smm").cases) {
      assertClose(maxAbsTQuantile(0.95, {count: k, df}), c, {rel: 1e-6});
    }
  });

  it("meet Dunnett's values for comparisons with one control", () => {
    for (const {k, df, c} of row<{k: number; df: number | "infinity"; c: number}>("A12-dunnett").cases) {
      const degrees = df === "infinity" ? Number.POSITIVE_INFINITY : df;
      assertClose(maxAbsTQuantile(0.95, {count: k, df: degrees, correlation: 0.5}), c, {rel: 1e-6});
    }
  });

  it("are Student's for one estimate, and fall with correlation", () => {
    assertClose(maxAbsTQuantile(0.95, {count: 1, df: 9}), studentTQuantile(0.975, 9), {rel: 1e-7});
    const falling = [0, 0.3, 0.6, 0.95].map(correlation =>
      maxAbsTQuantile(0.95, {count: 4, df: 9, correlation}),
    );
    assert.deepEqual(
      falling,
      [...falling].sort((a, b) => b - a),
    );
    assert.ok(falling[3] > studentTQuantile(0.975, 9));
    assert.equal(maxAbsTCdf(0, {count: 3, df: 5}), 0);
  });

  it("meet the studentised range", () => {
    // scipy 1.17.1; the row asks 1e-6
    for (const {p, k, df, q} of row<{p: number; k: number; df: number; q: number}>("A5-srange").cases) {
      assertClose(studentisedRangeQuantile(p, {count: k, df}), q, {rel: 1e-6});
    }
    // two means: the range is √2·|t|
    const q = studentisedRangeQuantile(0.95, {count: 2, df: 6});
    assertClose(q, Math.SQRT2 * studentTQuantile(0.975, 6), {rel: 1e-7});
    assertClose(studentisedRangeCdf(q, {count: 2, df: 6}), 0.95, 1e-9);
  });

  it("refuse families that are none", () => {
    assert.throws(() => maxAbsTCdf(1, {count: 0, df: 3}), {name: "RangeError", message: /count/});
    assert.throws(() => maxAbsTCdf(1, {count: 2, df: 3, correlation: 1}), {message: /correlation/});
    assert.throws(() => studentisedRangeCdf(-1, {count: 2, df: 3}), {message: /q must be at least 0/});
  });

  it("cover three means with one control together", () => {
    // Four samples of 3, the last one the control: all three true differences inside c·se in 95 % of days.
    const random = createRandom(1, "coverage dunnett");
    const c = maxAbsTQuantile(0.95, {count: 3, df: 8, correlation: 0.5});
    const n = 3000;
    let covered = 0;
    for (let day = 0; day < n; day++) {
      const groups = Array.from({length: 4}, () => summarise(Array.from({length: 3}, () => random.normal())));
      const variance = groups.reduce((sum, group) => sum + group.sd! ** 2, 0) / 4;
      const margin = c * Math.sqrt((2 * variance) / 3);
      if (groups.slice(0, 3).every(group => Math.abs(group.mean - groups[3].mean) <= margin)) covered++;
    }
    assertShare(covered, n, 0.95);
  });
});

describe("tolerance factors", () => {
  interface Case {
    n: number;
    p: number;
    confidence: number;
    k: number;
    exact: number;
  }

  it("meet A11-tolerance-one-sided", () => {
    for (const {n, p, confidence, k} of row<Case>("A11-tolerance-one-sided").cases) {
      assertClose(toleranceFactorOneSided({n, content: p, confidence}), k, {rel: 1e-8});
    }
  });

  it("meet A11-tolerance-two-sided by the exact definition, not Howe's approximation", () => {
    for (const {n, p, confidence, exact} of row<Case>("A11-tolerance-two-sided").cases) {
      assertClose(toleranceFactorTwoSided({n, content: p, confidence}), exact, {rel: 1e-6});
    }
  });

  it("hold their content with their confidence", () => {
    const random = createRandom(1, "coverage tolerance");
    const one = toleranceFactorOneSided({n: 6, content: 0.9});
    const two = toleranceFactorTwoSided({n: 6, content: 0.9});
    const n = 3000;
    let oneSided = 0;
    let twoSided = 0;
    for (let day = 0; day < n; day++) {
      const {mean, sd} = summarise(Array.from({length: 6}, () => random.normal()));
      if (normalCdf(mean + one * sd!) >= 0.9) oneSided++;
      if (normalCdf(mean + two * sd!) - normalCdf(mean - two * sd!) >= 0.9) twoSided++;
    }
    assertShare(oneSided, n, 0.95);
    assertShare(twoSided, n, 0.95);
  });

  it("refuse one value and a content of one", () => {
    assert.throws(() => toleranceFactorOneSided({n: 1, content: 0.9}), {
      name: "RangeError",
      message: /n must/,
    });
    assert.throws(() => toleranceFactorTwoSided({n: 5, content: 1}), {message: /content/});
  });
});
