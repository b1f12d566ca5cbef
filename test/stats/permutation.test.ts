import assert from "node:assert/strict";
import fc from "fast-check";
import {describe, it} from "vitest";
import {pairFlips, splits} from "../../lib/stats/deals.ts";
import {leastSquares} from "../../lib/stats/least-squares.ts";
import {permutationTest, sampledPermutationTest} from "../../lib/stats/permutation.ts";
import type {Term} from "../../lib/stats/qr.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {assertClose} from "../assert-close.ts";
import {assertShare, reference} from "./reference.ts";

const {row, data} = reference("permutation");

interface Counts {
  assignments: number;
  splits: number;
  difference: number;
  count_abs_ge: number;
  p_two_sided: number;
}

/** Differences as pairs (0, d) with a term for each pair but one: the sign-flip test. */
function flipTest(differences: readonly number[]) {
  const n = differences.length;
  const values = differences.flatMap(d => [0, d]);
  const observed = differences.flatMap(() => [0, 1]);
  return permutationTest(values, observed, pairFlips(n), {terms: pairTerms(n)});
}

function pairTerms(nPairs: number): Term[] {
  return Array.from({length: nPairs - 1}, (_, pair) => ({
    name: `pair ${pair + 2}`,
    values: Array.from({length: 2 * nPairs}, (_, i) => (i >> 1 === pair + 1 ? 1 : 0)),
  }));
}

function labels(nZeros: number, nOnes: number): number[] {
  return [...new Array<number>(nZeros).fill(0), ...new Array<number>(nOnes).fill(1)];
}

describe("permutationTest over every deal", () => {
  it("counts Fisher's 1726 of 32768 for Darwin's maize", () => {
    // A8-darwin-exact: R. A. Fisher, The Design of Experiments (1935), §21: 863 a side of 32768
    const {expected} = row<Counts>("A8-darwin-exact");
    const found = flipTest(data<{diff_eighths_inch: number[]}>("darwin.maize").diff_eighths_inch);
    assert.deepEqual(
      [found.deals, found.asExtreme, found.p],
      [expected.assignments, expected.count_abs_ge, expected.p_two_sided],
    );
    assertClose(found.estimate, 314 / 15, 1e-12);
    assert.equal(found.floor, 2 / 32768);
  });

  it("keeps ties that rounding would break, in the sleep data with a zero difference", () => {
    const {expected} = row<Counts>("A8-sleep-flip");
    const {drug1, drug2} = data<{drug1: number[]; drug2: number[]}>("student.sleep");
    const found = flipTest(drug2.map((value, i) => value - drug1[i]));
    assert.deepEqual(
      [found.deals, found.asExtreme, found.p],
      [expected.assignments, expected.count_abs_ge, expected.p_two_sided],
    );
  });

  it("counts all splits of the mouse data, which have no mirror images", () => {
    const {expected} = row<Counts>("A8-mouse-perm");
    const {treatment, control} = data<{treatment: number[]; control: number[]}>("efron.mouse");
    const found = permutationTest([...control, ...treatment], labels(9, 7), splits(16, 7));
    assert.deepEqual(
      [found.deals, found.asExtreme, found.p],
      [expected.splits, expected.count_abs_ge, expected.p_two_sided],
    );
    assertClose(found.estimate, expected.difference, 1e-12);
    assert.equal(found.floor, 1 / 11440);
  });

  it("matches four against four", () => {
    const {expected} = row<Counts>("A8-tiny-perm");
    const found = permutationTest(
      [11.8, 11.9, 12.05, 11.7, 12.1, 12.4, 12.0, 12.3],
      labels(4, 4),
      splits(8, 4),
    );
    assert.deepEqual(
      [found.deals, found.asExtreme, found.p],
      [expected.splits, expected.count_abs_ge, expected.p_two_sided],
    );
    assertClose(found.estimate, expected.difference, 1e-12);
  });

  it("reports the smallest p that each plan can reach, and reaches it", () => {
    // A8-perm-floor: 3 against 3 0.1, 4 against 4 2/70, five pairs 0.0625, six 0.03125
    const {cases} = row<Record<string, number | string>>("A8-perm-floor");
    for (const [n, expected] of [
      [3, cases[0].p_two_sided],
      [4, cases[1].p_two_sided],
    ] as const) {
      const apart = labels(n, n).map((label, i) => 10 * label + 0.1 * i);
      const found = permutationTest(apart, labels(n, n), splits(2 * n, n));
      assert.deepEqual([found.p, found.floor], [expected, expected]);
    }
    for (const [n, expected] of [
      [5, cases[2].n5],
      [6, cases[2].n6],
    ] as const) {
      const found = flipTest(Array.from({length: n}, (_, i) => 1 + 0.1 * i));
      assert.deepEqual([found.p, found.floor], [expected, expected]);
    }
  });

  it("re-deals only whole blocks, with block and drift as terms", () => {
    // A8-abba-restricted: six blocks, 64 arrangements, 2 as extreme; effect and drift by block and drift terms
    const {expected} = row<{
      mean: number;
      arrangements: number;
      count_abs_ge: number;
      p_randomisation_two_sided: number;
    }>("A8-abba-restricted");
    const {blocks} = data<{blocks: {order: string; times_s: number[]}[]}>("own.abba6");
    const values = blocks.flatMap(block => block.times_s);
    const observed = blocks.flatMap(({order}) => [...order].map(arm => (arm === "B" ? 1 : 0)));
    const deals = Array.from({length: 64}, (_, pattern) =>
      blocks.flatMap((_, b) => ((pattern >> b) & 1 ? [0, 1, 1, 0] : [1, 0, 0, 1])),
    );
    const blockTerms: Term[] = [1, 2, 3, 4, 5].map(b => ({
      name: `block ${b + 1}`,
      values: values.map((_, i) => (i >> 2 === b ? 1 : 0)),
    }));
    const drift: Term = {name: "drift", values: values.map((_, i) => i % 4)};
    for (const terms of [[], blockTerms, [...blockTerms, drift]]) {
      const found = permutationTest(values, observed, deals, {terms});
      assert.deepEqual([found.deals, found.asExtreme], [expected.arrangements, expected.count_abs_ge]);
      assert.equal(found.p, expected.p_randomisation_two_sided);
      assert.equal(found.floor, 2 / 64);
      assertClose(found.estimate, expected.mean, 1e-9);
    }
  });
});

describe("permutationTest", () => {
  it("agrees with a full fit of the model at every deal", () => {
    // The fast path uses one projection for all deals; here each deal is fitted from scratch.
    const place: Term = {name: "place", values: [-3, -2, -1, 0, 1, 2, 3]};
    const ones: Term = {name: "intercept", values: new Array<number>(7).fill(1)};
    const column = fc.array(fc.double({min: -10, max: 10, noNaN: true}), {minLength: 7, maxLength: 7});
    fc.assert(
      fc.property(column, values => {
        const observed = [0, 1, 0, 1, 0, 1, 0];
        const effect = (deal: ArrayLike<number>): number =>
          leastSquares(values, [ones, place, {name: "arm", values: deal}]).coefficients[2];
        const scale = Math.max(...values.map(Math.abs));
        const estimate = effect(observed);
        const margin = 1e-7 * scale + 1e-12;
        const effects = [...splits(7, 3)].map(deal => Math.abs(effect(deal)));
        const surely = effects.filter(size => size >= Math.abs(estimate) + margin).length;
        const possibly = effects.filter(size => size >= Math.abs(estimate) - margin).length;
        const found = permutationTest(values, observed, splits(7, 3), {terms: [place]});
        assertClose(found.estimate, estimate, margin);
        assert.ok(
          found.asExtreme >= surely && found.asExtreme <= possibly,
          `${surely} ≤ ${found.asExtreme} ≤ ${possibly}`,
        );
        assert.ok(found.asExtreme >= 1 && found.p >= found.floor);
      }),
      {seed: 1, numRuns: 60},
    );
  });

  it("lets a dropped run keep its place in the deals", () => {
    // Two pairs and a dropped half of a third: 8 deals, of which the third pair's flip still moves its other half.
    const found = permutationTest([5, 7, 5.2, 7.1, 5.3], [0, 1, 0, 1, 0, 1], pairFlips(3), {
      places: [0, 1, 2, 3, 4],
    });
    assert.equal(found.deals, 8);
    assert.equal(found.floor, 2 / 8);
    assert.equal(found.p, 2 / 8);
    // Both halves of the third pair dropped: its flip makes no difference, so deals come in fours.
    const without = permutationTest([5, 7, 5.2, 7.1], [0, 1, 0, 1, 0, 1], pairFlips(3), {
      places: [0, 1, 2, 3],
    });
    assert.deepEqual([without.deals, without.p, without.floor], [8, 0.5, 0.5]);
  });

  it("skips deals under which the arms could not have been compared", () => {
    // Places 0 and 1 of four are left: of the six splits two give both the same label.
    const found = permutationTest([1, 2], [0, 1, 0, 1], splits(4, 2), {places: [0, 1]});
    assert.deepEqual([found.deals, found.skipped, found.p, found.floor], [4, 2, 1, 1]);
  });

  it("gives p = 1 for values that are all alike, whatever their rounding", () => {
    const found = permutationTest(new Array<number>(8).fill(5.1), labels(4, 4), splits(8, 4));
    assert.deepEqual([found.p, Math.abs(found.estimate) < 1e-12], [1, true]);
  });

  it("refuses deals that do not fit the plan, the labels or the data", () => {
    const values = [1, 2, 3, 4];
    const refused = (message: RegExp) => ({name: "RangeError", message});
    assert.throws(() => permutationTest(values, [0, 0, 1, 1], pairFlips(2)), refused(/not among the deals/));
    assert.throws(() => permutationTest(values, [0, 1, 2, 1], pairFlips(2)), refused(/label 2 at place 2/));
    assert.throws(
      () => permutationTest(values, [0, 1, 1, 0], [[0, 1]]),
      refused(/label undefined at place 2/),
    );
    assert.throws(
      () => permutationTest([1, Number.NaN], [0, 1], splits(2, 1)),
      refused(/values\[1\] is NaN/),
    );
    assert.throws(
      () => permutationTest(values, [0, 0, 0, 0], splits(4, 2)),
      refused(/cannot be told from the other terms/),
    );
    const twin = {name: "twin", values: [1, 1, 1, 1]};
    assert.throws(
      () => permutationTest(values, [0, 1, 1, 0], splits(4, 2), {terms: [twin]}),
      refused(/"twin" cannot be told/),
    );
    assert.throws(
      () => permutationTest(values, [0, 1, 1, 0], splits(4, 2), {places: [0]}),
      refused(/4 meets 1/),
    );
  });

  it("gives false alarms at exactly the rate its floor allows, with drift and skewed noise", () => {
    // Null days in a complete order of 4 against 4: p = 2k/70, so p ≤ 0.05 has probability 2/70 whatever the noise and drift.
    const random = createRandom(1, "false alarms");
    const deals = [...splits(8, 4)];
    const n = 3000;
    let alarms = 0;
    for (let i = 0; i < n; i++) {
      const values = Array.from({length: 8}, (_, k) => 0.3 * k + random.normal() ** 2);
      if (permutationTest(values, deals[random.integer(70)], deals).p <= 0.05) alarms++;
    }
    assertShare(alarms, n, 2 / 70);
  });
});

describe("sampledPermutationTest", () => {
  const random = createRandom(1, "redeal");
  const deal = (): number[] => {
    const drawn = labels(4, 4);
    random.shuffle(drawn);
    return drawn;
  };

  it("comes close to the complete count", () => {
    const values = [11.8, 11.9, 12.05, 11.7, 12.1, 12.4, 12.0, 12.3];
    const nDeals = 20_000;
    const found = sampledPermutationTest(values, labels(4, 4), deal, {nDeals});
    assertClose(found.p, 4 / 70, 4 * Math.sqrt(((4 / 70) * (66 / 70)) / nDeals));
    assert.deepEqual([found.deals, found.floor], [nDeals + 1, 1 / (nDeals + 1)]);
  });

  it("counts the observed deal, so that p is never 0", () => {
    // A8-perm-floor: 999 draws, none as extreme: 1/1000
    const {cases} = row<{B999: number}>("A8-perm-floor");
    const values = labels(20, 20).map((label, i) => 100 * label + i);
    const drawn = labels(20, 20);
    const found = sampledPermutationTest(
      values,
      labels(20, 20),
      () => {
        random.shuffle(drawn);
        return drawn;
      },
      {nDeals: 999},
    );
    assert.equal(found.p, cases[3].B999);
  });

  it("gives false alarms at no more than 5 %", () => {
    const n = 1500;
    let alarms = 0;
    for (let i = 0; i < n; i++) {
      const values = Array.from({length: 8}, () => random.normal());
      if (sampledPermutationTest(values, deal(), deal, {nDeals: 199}).p <= 0.05) alarms++;
    }
    const allowed = 0.05 * n + 4 * Math.sqrt(0.05 * 0.95 * n);
    assert.ok(alarms <= allowed, `${alarms} alarms, allowed ${allowed}`);
    assert.ok(
      alarms > 0.02 * n - 4 * Math.sqrt(0.02 * 0.98 * n),
      `${alarms} alarms are too few for a working test`,
    );
  });
});

describe("deals", () => {
  it("list every split once", () => {
    const seen = new Set(Array.from(splits(6, 2), deal => deal.join("")));
    assert.equal(seen.size, 15);
    for (const deal of seen) assert.equal([...deal].filter(label => label === "1").length, 2);
    assert.equal([...splits(3, 0)].length, 1);
    assert.throws(() => [...splits(3, 4)], {name: "RangeError", message: /4 labels 1 do not fit 3 places/});
  });

  it("list every flip of pairs once", () => {
    const seen = new Set(Array.from(pairFlips(3), deal => deal.join("")));
    assert.equal(seen.size, 8);
    for (const deal of seen) assert.match(deal, /^(01|10){3}$/);
    assert.throws(() => [...pairFlips(40)], {name: "RangeError", message: /2\^40 deals/});
  });
});
