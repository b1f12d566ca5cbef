import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {drawnDistribution} from "../../lib/stats/bootstrap-distribution.ts";
import {studentisedInterval} from "../../lib/stats/bootstrap-interval.ts";
import {bootstrapCoefficient} from "../../lib/stats/bootstrap-residuals.ts";
import {coefficientInterval, leastSquares} from "../../lib/stats/least-squares.ts";
import type {Term} from "../../lib/stats/qr.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {standardDeviation} from "../../lib/stats/summary.ts";
import {assertClose} from "../assert-close.ts";
import {assertShareWithin} from "./reference.ts";

const ONES: Term = {name: "intercept", values: new Array<number>(8).fill(1)};
const ARM: Term = {name: "arm", values: [0, 1, 1, 0, 1, 0, 0, 1]};
const PLACE: Term = {name: "place", values: [-3.5, -2.5, -1.5, -0.5, 0.5, 1.5, 2.5, 3.5]};
const TERMS = [ONES, ARM, PLACE];
const Y = [9.62, 9.48, 9.51, 9.7, 9.6, 9.71, 9.77, 9.58];

describe("bootstrapCoefficient", () => {
  it("agrees with refitting the whole model at every draw", () => {
    const fit = leastSquares(Y, TERMS);
    const nResamples = 400;
    const fast = bootstrapCoefficient(fit, "arm", {random: createRandom(1, "bootstrap"), nResamples});
    // The slow way: the same draws, each fitted from scratch.
    const random = createRandom(1, "bootstrap");
    const scaled = Array.from(fit.residuals, (e, i) => e / Math.sqrt(1 - fit.leverages[i]));
    const centre = scaled.reduce((sum, e) => sum + e, 0) / scaled.length;
    const t: number[] = [];
    const b: number[] = [];
    for (let i = 0; i < nResamples; i++) {
      const y = Y.map((value, k) => value - fit.residuals[k] + scaled[random.integer(8)] - centre);
      const again = leastSquares(y, TERMS);
      b.push(again.coefficients[1]);
      t.push((again.coefficients[1] - fit.coefficients[1]) / again.standardErrors![1]);
    }
    const options = {estimate: fit.coefficients[1], standardError: fit.standardErrors![1]};
    const slow = studentisedInterval(drawnDistribution(t), options)!;
    assertClose(fast.interval!.low, slow.low, 1e-9);
    assertClose(fast.interval!.high, slow.high, 1e-9);
    assertClose(fast.standardError, standardDeviation(b)!, 1e-10);
    assert.equal(fast.estimate, fit.coefficients[1]);
    assert.deepEqual([fast.complete, fast.nResamples, fast.droppedShare], [false, nResamples, 0]);
  });

  it("comes close to the t interval where errors are normal and many", () => {
    const random = createRandom(1, "many normal errors");
    const n = 200;
    const terms = [
      {name: "intercept", values: new Array<number>(n).fill(1)},
      {name: "arm", values: Array.from({length: n}, (_, i) => i % 2)},
    ];
    const fit = leastSquares(
      Array.from({length: n}, () => random.normal()),
      terms,
    );
    const t = coefficientInterval(fit, "arm")!;
    const found = bootstrapCoefficient(fit, "arm", {random}).interval!;
    // ends of the interval: quantile error of 9999 draws, four times √(0.025·0.975/9999)/density(1.96) = 0.11 standard errors,
    // and the skewness of 200 residuals, about as much
    assertClose(found.low, t.low, 0.2 * fit.standardErrors![1]);
    assertClose(found.high, t.high, 0.2 * fit.standardErrors![1]);
  });

  it("leaves out draws that the model fits exactly and says how many", () => {
    // Two means of two values: df = 2; draws that give each arm twice the same error leave no spread.
    const terms = [
      {name: "intercept", values: [1, 1, 1, 1]},
      {name: "arm", values: [0, 0, 1, 1]},
    ];
    const fit = leastSquares([1, 2, 4, 5.5], terms);
    const {droppedShare} = bootstrapCoefficient(fit, "arm", {
      random: createRandom(1, "bootstrap"),
      nResamples: 40_000,
    });
    // Residuals ∓0.5, ∓0.75 are four different errors: an arm is constant with probability 1/4, both with 1/16.
    assertClose(droppedShare, 1 / 16, 4 * Math.sqrt(((1 / 16) * (15 / 16)) / 40_000));
  });

  it("has no interval without degrees of freedom or residuals", () => {
    const random = createRandom(1, "bootstrap");
    const line = leastSquares(
      [1, 2],
      [
        {name: "intercept", values: [1, 1]},
        {name: "arm", values: [0, 1]},
      ],
    );
    assert.equal(bootstrapCoefficient(line, "arm", {random}).interval, null);
    const still = leastSquares(new Array<number>(8).fill(5.1), TERMS);
    assert.equal(bootstrapCoefficient(still, "arm", {random}).interval, null);
  });

  it("refuses terms that are not there and draws that are none", () => {
    const fit = leastSquares(Y, TERMS);
    const random = createRandom(1, "bootstrap");
    assert.throws(() => bootstrapCoefficient(fit, "wind", {random}), {
      name: "RangeError",
      message: /no term "wind"/,
    });
    assert.throws(() => bootstrapCoefficient(fit, "arm", {random, nResamples: 0.5}), {
      message: /nResamples.*0\.5/,
    });
  });

  it("covers the true effect in 94 to 98 % of days of 8 runs with drift", () => {
    // Range measured beforehand for normal values; seed fixed. 599 draws: (R + 1)·0.025 is whole.
    const random = createRandom(1, "coverage residual bootstrap");
    const n = 800;
    let covered = 0;
    for (let i = 0; i < n; i++) {
      const y = Array.from(
        {length: 8},
        (_, k) => 5 + 0.02 * k - 0.1 * ARM.values[k] + 0.05 * random.normal(),
      );
      const {low, high} = bootstrapCoefficient(leastSquares(y, TERMS), "arm", {random, nResamples: 599})
        .interval!;
      if (low <= -0.1 && -0.1 <= high) covered++;
    }
    assertShareWithin(covered, n, 0.94, 0.98);
  });
});

describe("every redraw of the residuals", () => {
  // Two means of three: 56 multisets of three draws out of six a side, 3136 in all, against the 6⁶ ordered redraws.
  const two = (values: readonly number[]) =>
    leastSquares(values, [
      {name: "intercept", values: new Array<number>(values.length).fill(1)},
      {name: "arm", values: values.map((_, i) => (i < values.length / 2 ? 0 : 1))},
    ]);
  const fit = two([9.6213, 9.4787, 9.5172, 9.7019, 9.4541, 9.7128]);

  it("gives by multisets what listing all ordered redraws gives", () => {
    const random = createRandom(1, "bootstrap");
    const found = bootstrapCoefficient(fit, "arm", {random});
    assert.deepEqual([found.complete, found.nResamples], [true, 56 ** 2]);
    const scaled = Array.from(fit.residuals, (e, i) => e / Math.sqrt(1 - fit.leverages[i]));
    const shifts: number[] = [];
    const t: number[] = [];
    for (let code = 0; code < 6 ** 6; code++) {
      const errors = Array.from({length: 6}, (_, i) => scaled[Math.floor(code / 6 ** i) % 6]);
      const [a, b] = [errors.slice(0, 3), errors.slice(3)];
      const middle = (values: number[]) => (values[0] + values[1] + values[2]) / 3;
      const squares = [a, b]
        .flatMap(side => side.map(e => (e - middle(side)) ** 2))
        .reduce((sum, e) => sum + e, 0);
      shifts.push(middle(b) - middle(a));
      if (squares > 1e-12) t.push((middle(b) - middle(a)) / Math.sqrt(((squares / 4) * 2) / 3));
    }
    const options = {estimate: fit.coefficients[1], standardError: fit.standardErrors![1]};
    const slow = studentisedInterval(drawnDistribution(Float64Array.from(t)), options)!;
    // A quantile of the listed distribution is the value that reaches the share, of the drawn one it lies between two of them: 46,656
    // values over some ten standard errors are 1e-3 of one apart where they are sparse.
    assertClose(found.interval!.low, slow.low, 2e-3 * fit.standardErrors![1] * 10, "low");
    assertClose(found.interval!.high, slow.high, 2e-3 * fit.standardErrors![1] * 10, "high");
    assertClose(found.droppedShare, 1 - t.length / 6 ** 6, 1e-12, "dropped");
    const spread = Math.sqrt(shifts.reduce((sum, shift) => sum + shift * shift, 0) / shifts.length);
    assertClose(found.standardError, spread, {rel: 1e-9}, "standard error");
  });

  it("comes out near the drawn ones, percentile and BCa too, and inside them the percentile is narrowest", () => {
    const listed = bootstrapCoefficient(fit, "arm", {random: createRandom(1, "bootstrap")});
    const drawn = bootstrapCoefficient(fit, "arm", {
      random: createRandom(2, "bootstrap"),
      nResamples: 100_000,
      maxListed: 0,
    });
    assert.equal(drawn.complete, false);
    const spread = fit.standardErrors![1];
    for (const name of ["interval", "percentile", "bca"] as const) {
      // 100,000 draws: four times the error of a 2.5 % quantile, where t* has a tenth of the density of the normal
      assertClose(drawn[name]!.low, listed[name]!.low, 0.1 * spread, `${name} low`);
      assertClose(drawn[name]!.high, listed[name]!.high, 0.1 * spread, `${name} high`);
    }
    const width = ({low, high}: {low: number; high: number}) => high - low;
    assert.ok(width(listed.percentile!) < width(listed.interval!));
  });
});
