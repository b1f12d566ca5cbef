import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {oneWayAnova, oneWayAnovaOfSummaries} from "../../lib/stats/anova.ts";
import {fQuantile, studentTTwoSided} from "../../lib/stats/distributions.ts";
import {tInterval} from "../../lib/stats/interval.ts";
import {leastSquares} from "../../lib/stats/least-squares.ts";
import type {Term} from "../../lib/stats/qr.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {plainMean} from "../../lib/stats/summary.ts";
import {pooledDifference} from "../../lib/stats/two-sample.ts";
import {assertClose} from "../assert-close.ts";
import {assertShare, reference} from "./reference.ts";

const {row, data} = reference("anova");

interface Table {
  ss_between: number;
  ss_within: number;
  df: [number, number];
  F: number;
  R2: number;
  s_resid: number;
}

/** The nine groups of 21 of SmLs…: c once, then c − 0.1 and c + 0.1 ten times each, as decimals. */
function madeGroups(offset: number, steps: readonly number[]): number[][] {
  return steps.map(step => {
    const value = (tenths: number): number => Number(`${offset + Math.floor(tenths / 10)}.${tenths % 10}`);
    const centre = Math.round(step * 10);
    return Array.from({length: 21}, (_, i) =>
      value(i === 0 ? centre : i % 2 === 1 ? centre - 1 : centre + 1),
    );
  });
}

describe("oneWayAnova", () => {
  const small = [1.4, 1.3, 1.5, 1.3, 1.5, 1.3, 1.5, 1.3, 1.5];
  const large = small.map(value => value - 1);
  const sets: [string, number[][]][] = [
    ["A2-sirstv", data<{groups: number[][]}>("nist.SiRstv").groups],
    ["A2-atmwtag", data<{groups: number[][]}>("nist.AtmWtAg").groups],
    ["A2-smls01", madeGroups(0, small)],
    ["A2-smls04", madeGroups(1e6, large)],
    ["A2-smls07", madeGroups(1e12, large)],
  ];
  for (const [id, groups] of sets) {
    it(`meets ${id}`, () => {
      // NIST StRD, certified values; the tolerance of each row allows for what a double can hold
      const {expected, tolerance} = row<Table>(id);
      const found = oneWayAnova(groups);
      assert.deepEqual([found.between.df, found.within.df], expected.df);
      assertClose(found.between.squares, expected.ss_between, {rel: tolerance.rel}, "between");
      assertClose(found.within.squares, expected.ss_within, {rel: tolerance.rel}, "within");
      assertClose(found.f!, expected.F, {rel: tolerance.rel}, "F");
      assertClose(found.rSquared!, expected.R2, {rel: tolerance.rel}, "R²");
      assertClose(found.withinSd!, expected.s_resid, {rel: tolerance.rel}, "sd");
    });
  }

  it("meets the variance components of GUM H.5", () => {
    const {expected, tolerance} = row<Record<string, number>>("A2-gum-h5");
    const rel = {rel: tolerance.rel};
    const days = data<{day_means_uV_above_10V: number[]; within_day_sd_uV: number[]}>("gum.H5");
    const found = oneWayAnovaOfSummaries(
      days.day_means_uV_above_10V.map((mean, i) => ({n: 5, mean, sd: days.within_day_sd_uV[i]})),
    );
    assertClose(10 + found.mean * 1e-6, expected.mean_V, rel);
    assertClose(Math.sqrt(found.between.meanSquare), expected.s_a_uV, rel);
    assertClose(found.withinSd!, expected.s_b_uV, rel);
    assertClose(found.f!, expected.F, rel);
    assertClose(found.betweenSd!, expected.between_day_sd_uV, rel);
    assertClose(Math.sqrt(found.between.meanSquare / 50), expected.u_mean_uV, rel);
    const pooled = (found.between.squares + found.within.squares) / 49;
    assertClose(Math.sqrt(pooled / 50), expected.u_if_no_between_uV, rel);
    assertClose(fQuantile(0.95, 9, 40), expected["F_crit_0.95_9_40"], {rel: 1e-7}); // jStat
    assertClose(fQuantile(0.975, 9, 40), expected["F_crit_0.975_9_40"], {rel: 1e-7});
  });

  it("is the pooled t test for two groups", () => {
    const [a, b] = [
      [1.2, 3.4, 2.2],
      [4.1, 2.9, 5.5, 3.0],
    ];
    const t = pooledDifference(a, b);
    const found = oneWayAnova([a, b]);
    assertClose(found.f!, (t.estimate / t.standardError!) ** 2, {rel: 1e-12});
    assertClose(found.p!, t.p!, {rel: 1e-6}); // both by jStat
  });

  it("finds variance components of unequal groups without bias", () => {
    const random = createRandom(1, "components");
    const n = 2000;
    let within = 0;
    let between = 0;
    for (let day = 0; day < n; day++) {
      const groups = [2, 3, 5, 2].map(size => {
        const centre = 2 * random.normal();
        return Array.from({length: size}, () => centre + random.normal());
      });
      const found = oneWayAnova(groups);
      const perGroup = (12 - (4 + 9 + 25 + 4) / 12) / 3;
      within += found.within.meanSquare! / n;
      between += (found.between.meanSquare - found.within.meanSquare!) / perGroup / n;
      const expected = Math.max(0, found.between.meanSquare - found.within.meanSquare!) / perGroup;
      assertClose(found.betweenSd!, Math.sqrt(expected), 1e-12);
    }
    assertClose(within, 1, 4 * Math.sqrt(2 / 8 / n));
    assertClose(between, 4, 4 * Math.sqrt(16 / n)); // its variance is near 2·(4.3)²/3
  });

  it("gives 5 % false alarms", () => {
    const random = createRandom(1, "false alarms anova");
    const n = 3000;
    let alarms = 0;
    for (let day = 0; day < n; day++) {
      const groups = [3, 5, 4].map(size => Array.from({length: size}, () => random.normal()));
      if (oneWayAnova(groups).p! <= 0.05) alarms++;
    }
    assertShare(alarms, n, 0.05);
  });

  it("says what values without spread hold, and refuses what is no layout", () => {
    const alike = oneWayAnova([
      [5.1, 5.1],
      [5.1, 5.1],
    ]);
    assert.deepEqual([alike.f, alike.p, alike.rSquared, alike.withinSd], [null, null, null, 0]);
    const single = oneWayAnova([[1], [2], [4]]);
    assert.deepEqual([single.f, single.withinSd, single.betweenSd], [null, null, null]);
    assert.throws(() => oneWayAnova([[1, 2]]), {name: "RangeError", message: /number of groups/});
    assert.throws(() => oneWayAnova([[1], []]), {message: /values of group 2/});
    assert.throws(
      () =>
        oneWayAnovaOfSummaries([
          {n: 2, mean: 1, sd: -1},
          {n: 2, mean: 1, sd: 1},
        ]),
      {message: /sd/},
    );
  });
});

describe("a two-period crossover by least squares", () => {
  it("meets A9-chowliu-crossover", () => {
    // Chow & Liu's 24 subjects (cited from memory in the row); model: subjects, period, treatment
    const {expected, tolerance} = row<Record<string, number> & {ci90: number[]}>("A9-chowliu-crossover");
    const rel = {rel: tolerance.rel};
    const {seq_RT, seq_TR} = data<Record<string, Record<"R" | "T", number[]>>>("chow_liu.auc");
    const y: number[] = [];
    const treated: number[] = [];
    const period: number[] = [];
    const subject: number[] = [];
    for (const [sequence, first] of [
      [seq_RT, 0],
      [seq_TR, 1],
    ] as const) {
      sequence.R.forEach((_, i) => {
        const id = subject.length / 2;
        y.push(first ? sequence.T[i] : sequence.R[i], first ? sequence.R[i] : sequence.T[i]);
        treated.push(first, 1 - first);
        period.push(0, 1);
        subject.push(id, id);
      });
    }
    const subjects: Term[] = Array.from({length: 24}, (_, id) => ({
      name: `subject ${id}`,
      values: subject.map(s => (s === id ? 1 : 0)),
    }));
    const later: Term = {name: "period", values: period};
    const arm: Term = {name: "treatment", values: treated};
    const rss = (terms: readonly Term[]): number => {
      const fit = leastSquares(y, terms);
      return fit.df * fit.residualSd! ** 2;
    };
    const fit = leastSquares(y, [...subjects, later, arm]);
    const at = fit.names.indexOf("treatment");
    const [estimate, standardError] = [fit.coefficients[at], fit.standardErrors![at]];
    assertClose(estimate, expected.effect_T_minus_R, rel);
    assertClose(standardError, expected.se, rel);
    assert.equal(fit.df, expected.df);
    assertClose(fit.residualSd! ** 2, expected.ms_residual, rel);
    assertClose(estimate / standardError, expected.t, rel);
    assertClose(studentTTwoSided(estimate / standardError, fit.df), expected.p, {rel: 1e-7}); // jStat
    const interval = tInterval(estimate, standardError, {df: fit.df, level: 0.9, method: "t"});
    assertClose(interval.low, expected.ci90[0], 1e-7 * 13);
    assertClose(interval.high, expected.ci90[1], 1e-7 * 13);
    const full = rss([...subjects, later, arm]);
    assertClose(rss([...subjects, arm]) - full, expected.ss_period, {rel: 1e-8}); // a difference of two sums 100 times larger
    assertClose(rss([...subjects, later]) - full, expected.ss_treatment, {rel: 1e-8});
    const means = [seq_RT, seq_TR].map(({R, T}) => R.map((value, i) => (value + T[i]) / 2));
    const between = oneWayAnova(means);
    assertClose(2 * between.between.squares, expected.ss_sequence, {rel: 1e-9});
    assertClose(2 * between.within.meanSquare!, expected.ms_subject_in_seq, rel);
    assertClose(plainMean([...seq_RT.T, ...seq_TR.T]), expected.mean_T, rel);
    assertClose(plainMean([...seq_RT.R, ...seq_TR.R]), expected.mean_R, rel);
  });
});
