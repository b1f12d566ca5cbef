import assert from "node:assert/strict";
import fc from "fast-check";
import {describe, it} from "vitest";
import {median, type QuantileType, quantile} from "../../lib/stats/quantile.ts";
import {mean, standardDeviation, summarise} from "../../lib/stats/summary.ts";
import {assertClose} from "../assert-close.ts";
import {reference} from "./reference.ts";

const {row} = reference("summary");

/** NIST NumAcc2 to 4: one value, then two alternating, 500 times each. */
function alternating(first: number, low: number, high: number): number[] {
  return [first, ...Array.from({length: 1000}, (_, i) => (i % 2 === 0 ? low : high))];
}

describe("mean and standardDeviation", () => {
  // A1-numacc1 to 4: NIST StRD NumAcc1–4, certified values and the row's own tolerances.
  const sets: [string, number[]][] = [
    ["A1-numacc1", [10000001, 10000003, 10000002]],
    ["A1-numacc2", alternating(1.2, 1.1, 1.3)],
    ["A1-numacc3", alternating(1000000.2, 1000000.1, 1000000.3)],
    ["A1-numacc4", alternating(10000000.2, 10000000.1, 10000000.3)],
  ];
  for (const [id, values] of sets) {
    it(`meets the certified values of ${id}`, () => {
      const {expected, tolerance} = row<{mean: number; sd: number}>(id);
      assertClose(mean(values), expected.mean, {rel: tolerance.rel_mean ?? tolerance.rel});
      assertClose(standardDeviation(values)!, expected.sd, {rel: tolerance.rel_sd ?? tolerance.rel});
    });
  }

  it("gives exactly the value and no spread for values that are all alike", () => {
    fc.assert(
      fc.property(
        fc.double({min: -1e6, max: 1e6, noNaN: true}),
        fc.integer({min: 2, max: 40}),
        (value, n) => {
          const {mean: centre, sd} = summarise(new Array<number>(n).fill(value));
          assert.equal(centre + 0, value + 0);
          assert.equal(sd, 0);
        },
      ),
    );
  });

  it("has no spread to tell of one value", () => {
    assert.deepEqual(summarise([4]), {n: 1, mean: 4, sd: null, standardError: null});
    assert.equal(standardDeviation([4]), null);
  });

  it("takes the standard error as sd over root n", () => {
    // By hand: 1, 2, 3, 4 has variance 5/3, standard error √(5/12).
    assertClose(summarise([1, 2, 3, 4]).standardError!, Math.sqrt(5 / 12), 1e-15);
  });

  it("names the value that is not finite, and refuses an empty sample", () => {
    assert.throws(() => mean([1, 2, Number.NaN]), {name: "RangeError", message: /values\[2\] is NaN/});
    assert.throws(() => summarise([1, Number.POSITIVE_INFINITY]), {
      name: "RangeError",
      message: /values\[1\] is Infinity/,
    });
    assert.throws(() => standardDeviation([1e200, 1]), {name: "RangeError", message: /values\[0\]/});
    assert.throws(() => mean([]), {name: "RangeError", message: /at least 1 values needed, but there are 0/});
  });
});

describe("quantile", () => {
  it("follows the nine definitions of Hyndman and Fan", () => {
    // A7-quantile-types: R 4.2.2 quantile(type = 1..9)
    const {expected} = row<Record<string, number[]>>("A7-quantile-types");
    const x = [7.7, 2.1, 11.5, 3.4, 8.2, 3.9, 5.0];
    const p = [0.025, 0.1, 0.25, 0.5, 0.9, 0.975];
    for (const [type, values] of Object.entries(expected)) {
      values.forEach((value, i) => {
        // the row prints 15 digits, its tolerance is 1e-12
        assertClose(
          quantile(x, p[i], {type: Number(type) as QuantileType}),
          value,
          1e-12,
          `type ${type} at ${p[i]}`,
        );
      });
    }
  });

  it("takes type 7 where none is named", () => {
    // By hand: place 1 + 0.25·3 = 1.75 among 1, 2, 3, 10.
    assert.equal(quantile([10, 2, 1, 3], 0.25), 1.75);
    assert.equal(median([10, 2, 1, 3]), 2.5);
  });

  it("stays within the values and rises with p for every type", () => {
    const values = fc.array(fc.double({min: -1e9, max: 1e9, noNaN: true}), {minLength: 1, maxLength: 30});
    const p = fc.double({min: 0, max: 1, noNaN: true});
    fc.assert(
      fc.property(values, p, p, fc.integer({min: 1, max: 9}), (x, p1, p2, type) => {
        const at = (q: number): number => quantile(x, q, {type: type as QuantileType});
        const [low, high] = [at(Math.min(p1, p2)), at(Math.max(p1, p2))];
        const rounding = 1e-12 * Math.max(...x.map(Math.abs));
        assert.ok(low <= high + rounding);
        assert.ok(low >= Math.min(...x) - rounding && high <= Math.max(...x) + rounding);
      }),
    );
  });

  it("refuses p outside 0 to 1", () => {
    assert.throws(() => quantile([1, 2], 1.1), {
      name: "RangeError",
      message: /p must lie from 0 to 1, but it is 1\.1/,
    });
    assert.throws(() => quantile([1, 2], Number.NaN), {name: "RangeError", message: /NaN/});
  });
});
