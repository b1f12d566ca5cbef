import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {binomialTail} from "../../lib/stats/binomial-tail.ts";
import {assertClose} from "../assert-close.ts";

describe("binomialTail", () => {
  it("is what counting gives", () => {
    // By hand: 3 or more heads in 4 tosses: (4 + 1)/16. All 8 right of 8: 1/256, as in Fisher's tea tasting by coin.
    assert.equal(binomialTail(3, 4), 5 / 16);
    assert.equal(binomialTail(8, 8), 1 / 256);
    assert.equal(binomialTail(0, 12), 1);
    assert.equal(binomialTail(0, 0), 1);
  });
  it("halves an odd number of tosses exactly", () => {
    // By symmetry: more heads than tails in an odd number of tosses has chance 1/2; sums of 500 terms round at 1e-13.
    for (const n of [1, 7, 101, 999]) assertClose(binomialTail((n + 1) / 2, n), 0.5, 1e-12);
  });
  it("refuses what is no count", () => {
    assert.throws(() => binomialTail(5, 4), /5 of 4/);
    assert.throws(() => binomialTail(1.5, 4), /number of successes/);
  });
});
