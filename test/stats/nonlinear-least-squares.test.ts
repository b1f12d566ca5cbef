import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {nonlinearLeastSquares} from "../../lib/stats/nonlinear-least-squares.ts";
import {assertClose} from "../assert-close.ts";
import {reference} from "../reference.ts";

// NIST Statistical Reference Datasets, nonlinear regression, certified values; rows A4 name their source.
const {row, datasets} = reference("stats-nonlinear");

const MODELS: Record<string, (x: number, b: ArrayLike<number>) => number> = {
  "A4-misra1a": (x, b) => b[0] * (1 - Math.exp(-b[1] * x)),
  "A4-danielwood": (x, b) => b[0] * x ** b[1],
  "A4-mgh09": (x, b) => (b[0] * (x * x + x * b[1])) / (x * x + x * b[2] + b[3]),
  "A4-eckerle4": (x, b) => (b[0] / b[1]) * Math.exp(-0.5 * ((x - b[2]) / b[1]) ** 2),
  "A4-boxbod": (x, b) => b[0] * (1 - Math.exp(-b[1] * x)),
};

describe("nonlinearLeastSquares", () => {
  for (const [id, model] of Object.entries(MODELS)) {
    it(`gives the certified values of ${id}`, () => {
      const {inputs, expected, tolerance} = row(id) as ReturnType<typeof row> & {tolerance: {rel: number}};
      const {x, y} = inputs.dataset ? datasets[inputs.dataset] : inputs;
      for (const start of inputs.starts) {
        const fit = nonlinearLeastSquares(
          b => y.map((value: number, i: number) => value - model(x[i], b)),
          start,
        );
        assert.ok(fit, `${id} from ${start}`);
        expected.b.forEach((value: number, j: number) => {
          assertClose(fit.parameters[j], value, {rel: tolerance.rel}, `b${j + 1}`);
          assertClose(fit.standardErrors![j], expected.se[j], {rel: tolerance.rel}, `se${j + 1}`);
        });
        assertClose(fit.residualSumOfSquares, expected.rss, {rel: tolerance.rel});
      }
    });
  }
  it("says null where a parameter has no influence or the model no value", () => {
    const y = [1, 2, 3];
    assert.equal(
      nonlinearLeastSquares(b => y.map(value => value - b[0] - 0 * b[1]), [1, 1]),
      null,
    );
    assert.equal(
      nonlinearLeastSquares(() => null, [1]),
      null,
    );
  });
  it("has no standard errors without a degree of freedom", () => {
    const fit = nonlinearLeastSquares(b => [2 - Math.exp(b[0])], [0])!;
    assertClose(fit.parameters[0], Math.log(2), 1e-9);
    assert.equal(fit.standardErrors, null);
    assert.equal(fit.df, 0);
  });
  it("refuses more parameters than residuals", () => {
    assert.throws(() => nonlinearLeastSquares(() => [1], [1, 2]), {
      name: "RangeError",
      message: /2 parameters need at least as many residuals, found 1/,
    });
  });
});
