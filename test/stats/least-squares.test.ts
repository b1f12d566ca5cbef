import assert from "node:assert/strict";
import fc from "fast-check";
import {describe, it} from "vitest";
import {
  aliasedTerm,
  coefficientInterval,
  type LeastSquaresFit,
  leastSquares,
} from "../../lib/stats/least-squares.ts";
import type {Term} from "../../lib/stats/qr.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {assertClose} from "../assert-close.ts";
import {assertShare, reference} from "./reference.ts";

const {row, data} = reference("least-squares");

interface Certified {
  b: number | number[];
  se: number | number[];
  s_resid: number;
}

function term(name: string, values: ArrayLike<number>): Term {
  return {name, values};
}

function ones(n: number): Term {
  return term("intercept", new Array<number>(n).fill(1));
}

function powers(x: readonly number[], degree: number): Term[] {
  return Array.from({length: degree + 1}, (_, k) =>
    term(
      `x^${k}`,
      x.map(value => value ** k),
    ),
  );
}

function assertCertified(id: string, fit: LeastSquaresFit): void {
  const {expected, tolerance} = row<Certified>(id);
  [expected.b].flat().forEach((b, j) => {
    assertClose(fit.coefficients[j], b, {rel: tolerance.rel}, `${id} b${j}`);
  });
  [expected.se].flat().forEach((se, j) => {
    assertClose(fit.standardErrors![j], se, {rel: tolerance.rel}, `${id} se${j}`);
  });
  assertClose(fit.residualSd!, expected.s_resid, {rel: tolerance.rel}, `${id} residual sd`);
}

describe("leastSquares against NIST StRD certified values", () => {
  it("fits the straight line Norris", () => {
    const {x, y} = data<{x: number[]; y: number[]}>("nist.Norris");
    const fit = leastSquares(y, [ones(y.length), term("x", x)]);
    assertCertified("A3-norris", fit);
    assert.equal(fit.df, 34);
  });

  it("fits the near-collinear columns of Longley", () => {
    const {x, y} = data<{x: number[][]; y: number[]}>("nist.Longley");
    const columns = x[0].map((_, k) =>
      term(
        `x${k + 1}`,
        x.map(line => line[k]),
      ),
    );
    assertCertified("A3-longley", leastSquares(y, [ones(y.length), ...columns]));
  });

  it("fits the tenth-degree polynomial Filip, which normal equations cannot", () => {
    const {x, y} = data<{x: number[]; y: number[]}>("nist.Filip");
    assertCertified("A3-filip", leastSquares(y, powers(x, 10)));
  });

  it("fits lines through the origin, NoInt1 and NoInt2", () => {
    const x1 = Array.from({length: 11}, (_, i) => 60 + i);
    const y1 = x1.map(x => x + 70);
    assertCertified("A3-noint1", leastSquares(y1, [term("x", x1)]));
    assertCertified("A3-noint2", leastSquares([3, 4, 4], [term("x", [4, 5, 6])]));
  });

  it("finds the exact polynomial Wampler1 with no spread left", () => {
    // A3-wampler1: all coefficients 1, standard errors 0, both to 1e-6
    const {tolerance} = row("A3-wampler1");
    const x = Array.from({length: 21}, (_, i) => i);
    const y = x.map(v => 1 + v + v ** 2 + v ** 3 + v ** 4 + v ** 5);
    const fit = leastSquares(y, powers(x, 5));
    for (const b of fit.coefficients) assertClose(b, 1, tolerance.abs);
    for (const se of fit.standardErrors!) assertClose(se, 0, tolerance.abs);
  });
});

describe("leastSquares", () => {
  const arm = term("arm", [0, 1, 1, 0, 1, 0, 0, 1]);
  const place = term("place", [-3.5, -2.5, -1.5, -0.5, 0.5, 1.5, 2.5, 3.5]);

  it("satisfies the normal equations, whatever the data", () => {
    const n = 9;
    const column = fc.array(fc.double({min: -100, max: 100, noNaN: true}), {minLength: n, maxLength: n});
    fc.assert(
      fc.property(column, column, column, (y, x1, x2) => {
        const terms = [ones(n), term("x1", x1), term("x2", x2)];
        if (aliasedTerm(terms) !== null) return;
        const {residuals, leverages} = leastSquares(y, terms);
        for (const {values} of terms) {
          const product = residuals.reduce((sum, e, i) => sum + e * values[i], 0);
          // Rounding of X b: columns that differ by 1e-11 make coefficients of 1e13 and residuals off by 1e-3 at worst.
          const size = 1 + Math.max(...Array.from(values, Math.abs));
          assert.ok(Math.abs(product) < 0.1 * size, `residuals · column = ${product}`);
        }
        // The trace of the hat matrix is the number of terms.
        assertClose(
          leverages.reduce((sum, h) => sum + h, 0),
          3,
          1e-9,
        );
      }),
      {seed: 1},
    );
  });

  it("gives the pooled two-sample t where the arm is the only other term", () => {
    // By hand: arms 1, 2, 3 and 4, 6, 8: difference 4, pooled variance (2 + 8)/4 = 2.5, se √(2.5·2/3).
    const fit = leastSquares([1, 2, 3, 4, 6, 8], [ones(6), term("arm", [0, 0, 0, 1, 1, 1])]);
    assertClose(fit.coefficients[1], 4, 1e-14);
    assertClose(fit.standardErrors![1], Math.sqrt(5 / 3), 1e-14);
    assertClose(fit.covariance![3], 5 / 3, 1e-14);
    assertClose(fit.covariance![1], -2.5 / 3, 1e-14); // cov(b0, b1) = −s²/n₀
    assert.deepEqual(
      Array.from(fit.leverages, h => Math.round(h * 1e9) / 1e9),
      new Array(6).fill(0.333333333),
    );
  });

  it("is not moved by a linear drift when that is a term", () => {
    const y = place.values as number[];
    const fit = leastSquares(
      y.map((k, i) => 5 + 0.3 * k + 0.7 * arm.values[i]),
      [ones(8), arm, place],
    );
    assertClose(fit.coefficients[1], 0.7, 1e-14);
    assertClose(fit.coefficients[2], 0.3, 1e-14);
  });

  it("names the term that cannot be told from those before it", () => {
    const twin = term("direction", [1, 0, 0, 1, 0, 1, 1, 0]); // the other arm: ones − arm
    assert.equal(aliasedTerm([ones(8), arm, place]), null);
    assert.equal(aliasedTerm([ones(8), arm, twin]), "direction");
    assert.throws(() => leastSquares(place.values, [ones(8), arm, twin]), {
      name: "RangeError",
      message: /"direction" cannot be told from the terms before it \(intercept, arm\) in 8 observations/,
    });
    assert.throws(() => leastSquares([1, 2], [ones(2), term("a", [0, 1]), term("b", [1, 3])]), {
      message: /"b" cannot/,
    });
    assert.throws(() => leastSquares([1, 2], [term("nothing", [0, 0])]), {
      message: /"nothing" cannot be told from zero/,
    });
  });

  it("has no interval without a residual degree of freedom or without spread", () => {
    const line = leastSquares([1, 2], [ones(2), term("x", [0, 1])]);
    assert.equal(line.df, 0);
    assert.deepEqual([line.residualSd, line.standardErrors, line.covariance], [null, null, null]);
    assert.equal(coefficientInterval(line, "x"), null);
    const alike = leastSquares(new Array<number>(8).fill(5.1), [ones(8), arm, place]);
    assert.equal(alike.residualSd, 0);
    assert.equal(coefficientInterval(alike, "arm"), null);
  });

  it("refuses lengths that differ, values that are not finite, terms that are not there", () => {
    assert.throws(() => leastSquares([1, 2, 3], [ones(2)]), {name: "RangeError", message: /3 meets 2/});
    assert.throws(() => leastSquares([1, Number.NaN], [ones(2)]), {
      name: "RangeError",
      message: /y\[1\] is NaN/,
    });
    assert.throws(() => leastSquares([1, 2], [term("x", [1, Number.NaN])]), {message: /x\[1\] is NaN/});
    assert.throws(() => leastSquares([1], []), {name: "RangeError", message: /at least one term/});
    const fit = leastSquares([1, 2, 4], [ones(3)]);
    assert.throws(() => coefficientInterval(fit, "arm"), {
      name: "RangeError",
      message: /no term "arm".*intercept/,
    });
  });

  it("covers the true effect at the stated level from 8 runs with drift, arms unequal", () => {
    // Exact in theory for normal errors, so the count is binomial; 8 runs, 3 against 5, seed fixed.
    const random = createRandom(1, "coverage least squares");
    const uneven = term("arm", [0, 1, 1, 0, 1, 1, 0, 1]);
    for (const level of [0.9, 0.95]) {
      const n = 4000;
      let covered = 0;
      for (let i = 0; i < n; i++) {
        const y = Array.from(
          {length: 8},
          (_, k) => 5 + 0.02 * k - 0.1 * uneven.values[k] + 0.05 * random.normal(),
        );
        const {low, high} = coefficientInterval(leastSquares(y, [ones(8), uneven, place]), "arm", {level})!;
        if (low <= -0.1 && -0.1 <= high) covered++;
      }
      assertShare(covered, n, level);
    }
  });
});
