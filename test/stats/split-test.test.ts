import assert from "node:assert/strict";
import fc from "fast-check";
import {describe, it} from "vitest";
import {splits} from "../../lib/stats/deals.ts";
import {permutationTest} from "../../lib/stats/permutation.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {splitTest} from "../../lib/stats/split-test.ts";
import {assertShare, reference} from "./reference.ts";

const {row, data} = reference("permutation");

describe("splitTest", () => {
  it("agrees with the test that visits every split, ties included", () => {
    // whole numbers make many ties, which both have to count
    const sample = fc.oneof(
      fc.array(fc.integer({min: -4, max: 4}), {minLength: 1, maxLength: 6}),
      fc.array(fc.double({min: -10, max: 10, noNaN: true}), {minLength: 1, maxLength: 6}),
    );
    fc.assert(
      fc.property(sample, sample, (a, b) => {
        const observed = [...a.map(() => 0), ...b.map(() => 1)];
        const slow = permutationTest([...a, ...b], observed, splits(a.length + b.length, b.length));
        assert.deepEqual(splitTest(a, b), slow);
      }),
      {seed: 1, numRuns: 300},
    );
  });

  it("counts the splits of the mouse data and of four against four", () => {
    // A8-mouse-perm, A8-tiny-perm: own enumeration outside this project
    interface Counts {
      splits: number;
      count_abs_ge: number;
      p_two_sided: number;
    }
    const {treatment, control} = data<{treatment: number[]; control: number[]}>("efron.mouse");
    for (const [id, found] of [
      ["A8-mouse-perm", splitTest(control, treatment)],
      ["A8-tiny-perm", splitTest([11.8, 11.9, 12.05, 11.7], [12.1, 12.4, 12.0, 12.3])],
    ] as const) {
      const {expected} = row<Counts>(id);
      assert.deepEqual(
        [found.deals, found.asExtreme, found.p],
        [expected.splits, expected.count_abs_ge, expected.p_two_sided],
      );
    }
  });

  it("counts more splits than could be visited", () => {
    // C(36, 18); apart by far, so that only the split and its mirror image are as extreme
    const low = Array.from({length: 18}, (_, i) => i / 100);
    const found = splitTest(
      low,
      low.map(value => value + 50),
    );
    assert.deepEqual([found.deals, found.asExtreme, found.floor], [9075135300, 2, 2 / 9075135300]);
  });

  it("gives p = 1 for values that are all alike", () => {
    const found = splitTest([5.1, 5.1, 5.1], [5.1, 5.1]);
    assert.deepEqual([found.p, found.deals], [1, 10]);
  });

  it("gives false alarms at exactly the rate its floor allows", () => {
    // 5 against 5: p = 2k/252, so p ≤ 0.05 has probability 12/252 whatever the noise
    const random = createRandom(1, "false alarms split");
    const n = 5000;
    let alarms = 0;
    for (let i = 0; i < n; i++) {
      const values = Array.from({length: 10}, () => random.normal() ** 2);
      if (splitTest(values.slice(0, 5), values.slice(5)).p <= 0.05) alarms++;
    }
    assertShare(alarms, n, 12 / 252);
  });

  it("refuses empty samples and what it cannot count", () => {
    assert.throws(() => splitTest([], [1]), {name: "RangeError", message: /first sample/});
    assert.throws(() => splitTest([1, Number.NaN], [1]), {message: /\[1\] is NaN/});
    assert.throws(() => splitTest(new Float64Array(20), new Float64Array(20)), {
      message: /40 values are too many/,
    });
  });
});
