import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {effectiveSampleSize, lagOneAutocorrelation} from "../../lib/stats/autocorrelation.ts";
import {studentTQuantile} from "../../lib/stats/distributions.ts";
import {leastSquares} from "../../lib/stats/least-squares.ts";
import {propagateDistributions} from "../../lib/stats/monte-carlo.ts";
import {meansOfSeries, propagateUncertainty} from "../../lib/stats/propagation.ts";
import {createRandom, type Random} from "../../lib/stats/random.ts";
import {ratioInterval} from "../../lib/stats/ratio.ts";
import {mean, standardDeviation, summarise} from "../../lib/stats/summary.ts";
import {welchSatterthwaite} from "../../lib/stats/two-sample.ts";
import {assertClose} from "../assert-close.ts";
import {assertShare, reference} from "./reference.ts";

const {row, data} = reference("propagation");
const univariate = reference("univariate");

describe("univariate summaries", () => {
  for (const name of ["Michelso", "Lottery", "Lew", "Mavro"]) {
    it(`meet the certified values of ${name}`, () => {
      // NIST StRD
      const {expected, tolerance} = univariate.row<Record<"mean" | "sd" | "lag1", number>>(
        `A1-${name.toLowerCase()}`,
      );
      const {values} = univariate.data<{values: number[]}>(`nist.${name}`);
      assertClose(mean(values), expected.mean, {rel: tolerance.rel});
      assertClose(standardDeviation(values)!, expected.sd, {rel: tolerance.rel});
      assertClose(lagOneAutocorrelation(values)!, expected.lag1, {rel: tolerance.rel});
    });
  }

  it("hold no autocorrelation where nothing varies", () => {
    assert.equal(lagOneAutocorrelation([2, 2, 2]), null);
    assert.equal(lagOneAutocorrelation([10000001, 10000003, 10000002]), -0.5); // NIST NumAcc1
    assert.throws(() => lagOneAutocorrelation([1]), {name: "RangeError", message: /at least 2/});
  });
});

describe("effectiveSampleSize", () => {
  it("meets A14-ar1-neff", () => {
    const {cases, tolerance} = row<{n: number; rho: number; inflation: number; n_eff: number}>(
      "A14-ar1-neff",
    );
    for (const {n, rho, n_eff} of cases) {
      assertClose(effectiveSampleSize(n, rho), n_eff, {rel: tolerance.rel}, `n ${n} ρ ${rho}`);
    }
    assert.equal(effectiveSampleSize(7, 0), 7);
    assert.throws(() => effectiveSampleSize(5, 1), {name: "RangeError", message: /between −1 and 1/});
  });
});

describe("ratioInterval", () => {
  const denominator = {estimate: 10, standardError: 0.25 / Math.sqrt(8)};
  const numerator = {estimate: 9.6, standardError: 0.3 / Math.sqrt(8)};

  it("meets A14-fieller", () => {
    // t by jStat to 1e-7, which is relative to the half width
    const {expected} = row<{ratio: number; ci95: [number, number]; g: number}>("A14-fieller");
    const found = ratioInterval(numerator, denominator, {df: 14});
    const width = expected.ci95[1] - expected.ci95[0];
    assertClose(found.estimate, expected.ratio, {rel: 1e-14});
    assertClose(found.interval!.low, expected.ci95[0], 1e-7 * width);
    assertClose(found.interval!.high, expected.ci95[1], 1e-7 * width);
    assertClose(found.g, expected.g, {rel: 1e-6});
  });

  it("has no bounded interval where the denominator may be zero", () => {
    assert.equal(ratioInterval(numerator, {estimate: 0.1, standardError: 0.2}, {df: 14}).interval, null);
    assert.throws(() => ratioInterval(numerator, {estimate: 0, standardError: 1}, {df: 14}), {
      name: "RangeError",
      message: /size of the denominator/,
    });
    assert.throws(() => ratioInterval(numerator, denominator, {df: 14, covariance: 1}), {
      message: /are not those of two estimates/,
    });
  });

  it("covers 95 % with a shared spread and a correlation", () => {
    const random = createRandom(1, "coverage fieller");
    const n = 3000;
    let covered = 0;
    for (let day = 0; day < n; day++) {
      // estimates (u, u/2 + v) with one estimated spread of 6 df; ratio of the truths is 3/4
      let squares = 0;
      for (let i = 0; i < 6; i++) squares += random.normal() ** 2;
      const s = Math.sqrt(squares / 6);
      const u = random.normal();
      const v = random.normal();
      const found = ratioInterval(
        {estimate: 6 + u / 2 + v, standardError: s * Math.sqrt(1.25)},
        {estimate: 8 + u, standardError: s},
        {df: 6, covariance: (s * s) / 2},
      );
      if (found.interval === null || (found.interval.low <= 0.75 && 0.75 <= found.interval.high)) covered++;
    }
    assertShare(covered, n, 0.95);
  });
});

describe("propagateUncertainty", () => {
  it("meets GUM H.2: three outputs of three inputs observed together", () => {
    const {expected, tolerance} = row<Record<string, number> & {r_inputs: Record<string, number>}>(
      "A14-gum-h2",
    );
    const rel = {rel: tolerance.rel};
    const {V_V, I_mA, phi_rad} = data<Record<string, number[]>>("gum.H2");
    const inputs = meansOfSeries([V_V, I_mA.map(value => value / 1000), phi_rad]);
    const found = propagateUncertainty(
      ([v, i, phi]) => [(v / i) * Math.cos(phi), (v / i) * Math.sin(phi), v / i],
      inputs,
    );
    const r = (j: number, k: number): number =>
      inputs.covariance[3 * j + k] / Math.sqrt(inputs.covariance[4 * j] * inputs.covariance[4 * k]);
    assertClose(r(0, 1), expected.r_inputs.V_I, rel);
    assertClose(r(0, 2), expected.r_inputs.V_phi, rel);
    assertClose(r(1, 2), expected.r_inputs.I_phi, rel);
    for (const [k, name] of ["R", "X", "Z"].entries()) {
      assertClose(found.values[k], expected[name], rel, name);
      assertClose(found.standardUncertainties[k], expected[`u_${name}`], rel, `u of ${name}`);
    }
    assertClose(found.correlation[1], expected.r_RX, rel);
    assertClose(found.correlation[2], expected.r_RZ, rel);
    assertClose(found.correlation[5], expected.r_XZ, rel);
  });

  it("meets GUM H.1: root sum of squares and effective degrees of freedom", () => {
    const {expected, tolerance} = row<Record<string, number>>("A14-gum-h1");
    const u = [25, 9.7, 2.9, 16.6];
    const df = [18, 25.6, 50, 2];
    const covariance = u.flatMap((size, i) => u.map((_, k) => (i === k ? size * size : 0)));
    const sum = propagateUncertainty(([a, b, c, d]) => [a + b + c + d], {values: [0, 0, 0, 0], covariance});
    assertClose(sum.standardUncertainties[0], expected.u_c_nm, {rel: tolerance.rel});
    const parts = u.map((standardError, i) => ({standardError, df: df[i]}));
    assertClose(welchSatterthwaite(parts)!, expected.df_eff, {rel: tolerance.rel});
    const t = studentTQuantile(0.995, 16); // the GUM truncates the df; t by jStat
    assertClose(t, expected["t_0.99_df16"], {rel: 1e-7});
    assertClose(t * sum.standardUncertainties[0], expected.U99_nm, {rel: 1e-7});
  });

  it("meets GUM H.3: a calibration line and what it predicts", () => {
    const {expected, tolerance} = row<Record<string, number>>("A3-gum-h3");
    const rel = {rel: tolerance.rel};
    const {t_C, correction_C} = data<Record<string, number[]>>("gum.H3");
    const line = leastSquares(correction_C, [
      {name: "y1", values: t_C.map(() => 1)},
      {name: "y2", values: t_C.map(t => t - 20)},
    ]);
    assertClose(line.coefficients[0], expected.y1, rel);
    assertClose(line.coefficients[1], expected.y2, rel);
    assertClose(line.standardErrors![0], expected.u_y1, rel);
    assertClose(line.standardErrors![1], expected.u_y2, rel);
    assertClose(line.residualSd!, expected.s_resid, rel);
    assertClose(
      line.covariance![1] / (line.standardErrors![0] * line.standardErrors![1]),
      expected.r_y1_y2,
      rel,
    );
    const at30 = propagateUncertainty(([y1, y2]) => [y1 + 10 * y2], {
      values: line.coefficients,
      covariance: line.covariance!,
    });
    assertClose(at30.values[0], expected.b30, rel);
    assertClose(at30.standardUncertainties[0], expected.u_b30, rel);
  });

  it("gives numbers without uncertainty none, and refuses a covariance that does not fit", () => {
    const sure = propagateUncertainty(([a, b]) => [a, b], {values: [1, 2], covariance: [0, 0, 0, 4]});
    assert.deepEqual([...sure.correlation].map(Math.round), [0, 0, 0, 1]);
    const model = ([a]: Float64Array): number[] => [a];
    assert.throws(() => propagateUncertainty(model, {values: [1], covariance: [1, 2]}), {
      name: "RangeError",
      message: /2 meets 1/,
    });
    assert.throws(() => propagateUncertainty(model, {values: [1], covariance: [-1]}), {message: /negative/});
    assert.throws(() => propagateUncertainty(() => [Number.NaN], {values: [1], covariance: [1]}), {
      message: /outputs\[0\] is NaN/,
    });
    assert.throws(() => meansOfSeries([[1, 2], [1]]), {message: /same length/});
  });
});

describe("propagateDistributions", () => {
  const rectangle = (random: Random, sd: number): number => sd * Math.sqrt(3) * (2 * random.uniform() - 1);
  const trials: [string, (random: Random) => number][] = [
    ["A14-jcgm101-922", r => r.normal() + r.normal() + r.normal() + r.normal()],
    ["A14-jcgm101-923", r => rectangle(r, 1) + rectangle(r, 1) + rectangle(r, 1) + rectangle(r, 1)],
    ["A14-jcgm101-924", r => rectangle(r, 1) + rectangle(r, 1) + rectangle(r, 1) + rectangle(r, 10)],
  ];
  for (const [id, trial] of trials) {
    it(`meets ${id}`, () => {
      // JCGM 101:2008, 9.2; the row allows monte_carlo_1e6 with 10⁶ trials
      const {expected, tolerance} = row<{u: number; interval95: [number, number]}>(id);
      const found = propagateDistributions(trial, {random: createRandom(1, id)});
      const bound = tolerance.monte_carlo_1e6;
      assertClose(found.standardUncertainty, expected.u, bound);
      assertClose(found.interval.low, expected.interval95[0], bound);
      assertClose(found.interval.high, expected.interval95[1], bound);
      assertClose(found.estimate, 0, (4 * expected.u) / 1000);
      const width = ({low, high}: {low: number; high: number}): number => high - low;
      assert.ok(width(found.shortest) <= width(found.interval));
      assertClose(width(found.shortest), width(found.interval), {rel: 0.01}); // both are symmetric
    });
  }

  it("finds the shortest stretch of a skewed result, and covers with it", () => {
    // exponential: the shortest 95 % runs from 0 to −ln 0.05 = 2.9957
    const found = propagateDistributions(r => -Math.log1p(-r.uniform()), {
      random: createRandom(1, "skewed"),
      nTrials: 200_000,
    });
    assertClose(found.shortest.low, 0, 0.01);
    assertClose(found.shortest.high, -Math.log(0.05), 0.05);
    const random = createRandom(1, "coverage skewed");
    const n = 20_000;
    let inside = 0;
    for (let i = 0; i < n; i++) if (-Math.log1p(-random.uniform()) <= found.shortest.high) inside++;
    assertShare(inside, n, 0.95);
    assertClose(summarise([found.interval.low, found.interval.high]).mean, (0.0253 + 3.6889) / 2, 0.05);
  });

  it("refuses results that are not finite", () => {
    const random = createRandom(1, "refused");
    assert.throws(() => propagateDistributions(() => Number.NaN, {random, nTrials: 100}), {
      name: "RangeError",
      message: /results\[0\] is NaN/,
    });
    assert.throws(() => propagateDistributions(() => 1, {random, nTrials: 5}), {message: /nTrials/});
  });
});
