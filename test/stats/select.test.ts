import assert from "node:assert/strict";
import fc from "fast-check";
import {describe, it} from "vitest";
import {median, medianInPlace} from "../../lib/stats/quantile.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {selectInPlace} from "../../lib/stats/select.ts";

describe("selectInPlace", () => {
  it("puts there what sorting would put there, ties and every length included", () => {
    const values = fc.array(fc.oneof(fc.integer({min: -3, max: 3}), fc.double({noNaN: true})), {
      minLength: 1,
      maxLength: 50,
    });
    fc.assert(
      fc.property(values, fc.nat(), (numbers, at) => {
        const k = at % numbers.length;
        const sorted = Float64Array.from(numbers).sort();
        const found = Float64Array.from(numbers);
        assert.ok(selectInPlace(found, k) === sorted[k]); // 0 and −0 are one value
        for (let i = 0; i < k; i++) assert.ok(found[i] <= found[k]);
        for (let i = k + 1; i < found.length; i++) assert.ok(found[i] >= found[k]);
      }),
    );
  });

  it("does so in long stretches, and again in what it reordered", () => {
    const random = createRandom(1, "select");
    const values = Float64Array.from({length: 20_000}, (_, i) => (i % 7 === 0 ? 0.5 : random.normal()));
    const sorted = values.slice().sort();
    for (const k of [0, 499, 500, 10_000, 19_499, 19_999]) assert.equal(selectInPlace(values, k), sorted[k]);
    assert.deepEqual(values.sort(), sorted);
  });
});

describe("medianInPlace", () => {
  it("is the median, from the values themselves", () => {
    const random = createRandom(2, "median");
    for (const length of [1, 2, 7, 1000, 1001]) {
      const values = Float64Array.from({length}, () => random.normal());
      assert.equal(medianInPlace(values.slice()), median(values));
    }
  });
});
