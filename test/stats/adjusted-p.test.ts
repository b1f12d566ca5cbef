import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {benjaminiHochberg, holm} from "../../lib/stats/adjusted-p.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {assertClose} from "../assert-close.ts";
import {reference} from "../reference.ts";

const {row} = reference("stats-multiple");

describe("adjusted p-values", () => {
  it.each([
    // Both rows: R 4.2.2, p.adjust; the first on the p-values of Benjamini and Hochberg (1995), §4.
    ["A12-bh1995", 1e-12],
    ["A12-four", 1e-12],
  ])("are those of R on %s", (id, rel) => {
    const {inputs, expected} = row(id);
    for (const [adjusted, values] of [
      [holm(inputs.p), expected.holm],
      [benjaminiHochberg(inputs.p), expected.BH],
    ] as [Float64Array, number[]][]) {
      assert.equal(adjusted.length, values.length);
      values.forEach((value, i) => {
        assertClose(adjusted[i], value, {rel}, `${id}[${i}]`);
      });
    }
  });

  it("raise no false alarm among 20 true nulls on more than 5 % of occasions", () => {
    // 4,000 occasions; Holm's bound is 5 %, four binomial standard errors above it are 6.4 %.
    const random = createRandom(5, "adjusted p");
    let alarms = 0;
    for (let i = 0; i < 4000; i++) {
      if (holm(Float64Array.from({length: 20}, () => random.uniform())).some(p => p < 0.05)) alarms++;
    }
    assert.ok(alarms / 4000 < 0.05 + 4 * Math.sqrt((0.05 * 0.95) / 4000), `${alarms} of 4000`);
  });

  it("refuse what is no p-value", () => {
    assert.throws(() => holm([0.1, 1.2]), {name: "RangeError", message: /p\[1\] is 1\.2/});
    assert.throws(() => benjaminiHochberg([Number.NaN]), {name: "RangeError", message: /p\[0\] is NaN/});
    assert.equal(holm([]).length, 0);
  });
});
