import assert from "node:assert/strict";
import fc from "fast-check";
import {describe, it} from "vitest";
import {pairFlips, splits} from "../../lib/stats/deals.ts";
import {permutationTest} from "../../lib/stats/permutation.ts";
import type {Term} from "../../lib/stats/qr.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {randomisationInterval} from "../../lib/stats/randomisation-interval.ts";
import {assertClose} from "../assert-close.ts";
import {assertShare} from "./reference.ts";

const drift: Term = {name: "drift", values: [-3.5, -2.5, -1.5, -0.5, 0.5, 1.5, 2.5, 3.5]};

describe("randomisationInterval", () => {
  it("ends exactly where the test begins to reject", () => {
    // The slow way: the test itself on values without the effect, a hair inside and outside each limit.
    const deals = [...splits(8, 4)];
    const values = fc.array(fc.double({min: -10, max: 10, noNaN: true}), {minLength: 8, maxLength: 8});
    fc.assert(
      fc.property(values, fc.integer({min: 0, max: 69}), fc.boolean(), (y, dealt, drifting) => {
        const options = drifting ? {terms: [drift]} : {};
        const observed = deals[dealt];
        const p = (effect: number): number =>
          permutationTest(
            y.map((value, i) => value - effect * observed[i]),
            observed,
            deals,
            options,
          ).p;
        const found = randomisationInterval(y, observed, deals, {level: 0.9, ...options});
        if (found === null) return;
        const hair = 1e-6 * Math.max(found.high - found.low, 1e-3);
        fc.pre(found.high - found.low > 1e-3);
        assert.ok(p(found.low + hair) > 0.1 && p(found.high - hair) > 0.1, "inside");
        assert.ok(p(found.low - hair) <= 0.1 && p(found.high + hair) <= 0.1, "outside");
        assert.ok(p(found.low - 1) <= 0.1 && p(found.high + 1) <= 0.1, "well outside");
      }),
      {seed: 1, numRuns: 40},
    );
  });

  it("is what a hand count gives for pairs", () => {
    // Differences 1 … 6 of six pairs: 64 flips; 2 of them reject at level 0.95. All six signs alike are as extreme as
    // the one dealt; the next pair of flips turns one pair over. An effect u is not rejected while that makes |Σ ± (d − u)| no
    // smaller, which ends where the smallest d − u is 0: from 1 to 6.
    const values = [1, 2, 3, 4, 5, 6].flatMap(d => [0, d]);
    const pairs: Term[] = [1, 2, 3, 4, 5].map(pair => ({
      name: `pair ${pair + 1}`,
      values: values.map((_, i) => (i >> 1 === pair ? 1 : 0)),
    }));
    const observed = values.map((_, i) => i % 2);
    const found = randomisationInterval(values, observed, pairFlips(6), {terms: pairs})!;
    assertClose(found.low, 1, 1e-9);
    assertClose(found.high, 6, 1e-9);
    assert.equal(found.level, 1 - 2 / 64);
    assert.equal(found.deals, 64);
  });

  it("covers exactly the level it reaches, with skewed noise and drift that the model does not know", () => {
    const random = createRandom(1, "coverage randomisation");
    const deals = [...splits(8, 4)];
    const n = 2000;
    let covered = 0;
    for (let day = 0; day < n; day++) {
      const observed = deals[random.integer(deals.length)];
      const y = Array.from({length: 8}, (_, i) => 0.3 * i + random.normal() ** 2 + 2 * observed[i]);
      const found = randomisationInterval(y, observed, deals)!;
      assert.equal(found.level, 1 - 2 / 70);
      if (found.low <= 2 && 2 <= found.high) covered++;
    }
    assertShare(covered, n, 1 - 2 / 70);
  });

  it("covers with drift in the model, where deals weigh differently", () => {
    const random = createRandom(1, "coverage randomisation drift");
    const deals = [...splits(8, 4)];
    const n = 2000;
    let covered = 0;
    for (let day = 0; day < n; day++) {
      const observed = deals[random.integer(deals.length)];
      const y = Array.from({length: 8}, (_, i) => i + random.normal() + 2 * observed[i]);
      const found = randomisationInterval(y, observed, deals, {terms: [drift], level: 0.9});
      // open intervals cover
      if (found === null || (found.low <= 2 && 2 <= found.high)) covered++;
    }
    // the hull of the effects not rejected can only be wider than they are
    assert.ok(covered / n >= 1 - 6 / 70 - 4 * Math.sqrt((0.09 * 0.91) / n), `${covered} of ${n}`);
    assert.ok(covered / n <= 0.97, `${covered} of ${n}`);
  });

  it("has no answer where the deals are too few, and refuses a foreign deal", () => {
    assert.equal(randomisationInterval([1, 2, 3, 4, 5, 7], [0, 1, 0, 1, 0, 1], splits(6, 3)), null);
    const wide = randomisationInterval([1, 2, 3, 4, 5, 7], [0, 1, 0, 1, 0, 1], splits(6, 3), {level: 0.9});
    assert.equal(wide!.level, 0.9);
    assert.throws(() => randomisationInterval([1, 2, 3, 4], [0, 0, 1, 1], pairFlips(2)), {
      name: "RangeError",
      message: /randomisationInterval: the labels that were dealt are not among the deals/,
    });
    assert.throws(() => randomisationInterval([1, 2], [0, 1], splits(2, 1), {level: 1}), {message: /level/});
  });

  it("is a point for values without spread", () => {
    const found = randomisationInterval(
      new Array<number>(10).fill(5.1),
      [0, 1, 0, 1, 0, 1, 0, 1, 0, 1],
      splits(10, 5),
    );
    assert.ok(found !== null && Math.abs(found.high - found.low) < 1e-9, JSON.stringify(found));
  });
});
