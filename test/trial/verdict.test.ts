import assert from "node:assert/strict";
import {describe, it} from "vitest";
import type {VerdictState} from "../../lib/result/documents.ts";
import {lookOf} from "../../lib/trial/looks.ts";
import {type VerdictInput, verdict} from "../../lib/trial/verdict.ts";

const interval = (low: number, high: number, level = 0.95) => ({low, high, level, method: "Welch's t"});

function input(low: number, high: number, more: Partial<VerdictInput> = {}): VerdictInput {
  const middle = (low + high) / 2;
  const narrow = 0.8; // a 90 % interval is some four fifths of the 95 % one
  return {
    tooFew: null,
    estimate: middle,
    interval: interval(low, high),
    equivalenceInterval: interval(middle + narrow * (low - middle), middle + narrow * (high - middle), 0.9),
    worthwhile: 0.15,
    better: "lower",
    checks: [],
    print: value => `${value.toFixed(3)} s`,
    changed: "smooth elbow",
    measure: "the time through the band",
    settle: () => ({words: "Drive more.", further: null}),
    ...more,
  };
}

const failed = {
  name: "one changeover",
  outcome: "failed" as const,
  words: "all of one arm came before all of the other",
};

describe("verdict", () => {
  it.each([
    ["shown-better, size open", input(-0.2, -0.02), "shown-better", "open"],
    ["shown-better, at least worthwhile", input(-0.4, -0.2), "shown-better", "at-least-worthwhile"],
    ["shown-better, below worthwhile", input(-0.1, -0.02), "shown-better", "below-worthwhile"],
    ["shown-worse", input(0.02, 0.4), "shown-worse", "open"],
    ["shown-better where higher is better", input(0.02, 0.4, {better: "higher"}), "shown-better", "open"],
    [
      "shown-different where neither is better",
      input(0.02, 0.4, {better: "neither"}),
      "shown-different",
      "open",
    ],
    ["no worthwhile difference", input(-0.1, 0.1), "no-worthwhile-difference", null],
    ["not settled", input(-0.4, 0.1), "not-settled", null],
    ["equivalence is judged at the narrower interval", input(-0.18, 0.18), "no-worthwhile-difference", null],
    ["an interval that ends at zero is not clear of it", input(-0.4, 0), "not-settled", null],
    ["not a fair test before shown", input(-0.4, -0.2, {checks: [failed]}), "not-a-fair-test", null],
    [
      "too few runs before not a fair test",
      input(-0.4, -0.2, {checks: [failed], tooFew: "2 runs"}),
      "too-few-runs",
      null,
    ],
    ["too few runs without an interval", input(0, 0, {interval: null, estimate: null}), "too-few-runs", null],
    [
      "not settled without a worthwhile difference",
      input(-0.1, 0.1, {worthwhile: null}),
      "not-settled",
      null,
    ],
  ] as const)("%s", (_title, given, state, size) => {
    const result = verdict(given);
    assert.equal(result.state, state);
    assert.equal(result.size, size);
    assert.ok(result.next.length > 0);
    assert.doesNotMatch(result.words + result.next, /NaN|undefined|null|Infinity/);
  });

  it("words every state as agreed", () => {
    assert.equal(
      verdict(input(-0.2, -0.02)).words,
      "Shown better: with smooth elbow, the time through the band is lower by 0.110 s (95 % interval -0.200 s to -0.020 s); whether it reaches the worthwhile 0.150 s is open.",
    );
    assert.equal(
      verdict(input(0.2, 0.4)).words,
      "Shown worse: with smooth elbow, the time through the band is higher by 0.300 s (95 % interval 0.200 s to 0.400 s); at least the worthwhile 0.150 s.",
    );
    assert.equal(
      verdict(input(-0.1, 0.1)).words,
      "No worthwhile difference: with smooth elbow, the time through the band differs by less than 0.150 s either way (90 % interval -0.080 s to 0.080 s). A smaller difference is not excluded.",
    );
    assert.equal(
      verdict(input(-0.4, 0.1)).words,
      'Not settled: the data agree with no difference and with one of up to 0.400 s (95 % interval -0.400 s to 0.100 s). That is not "no difference".',
    );
    assert.equal(
      verdict(input(-0.4, -0.2, {checks: [failed]})).words,
      "Not a fair test: all of one arm came before all of the other. The figures are shown, but they cannot be put down to smooth elbow.",
    );
    assert.equal(
      verdict(input(-0.4, -0.2, {tooFew: "the changed arm has 2 usable runs, 3 are needed"})).words,
      "Too few runs for an interval: the changed arm has 2 usable runs, 3 are needed. Nothing can be said about smooth elbow.",
    );
  });

  it("says what to do next, what would settle it and what it does not say, for every state", () => {
    const further = {kind: "new-test" as const, runs: 12, likelyRuns: 20, chance: null};
    const settle = (open: string) => ({words: `Settle the ${open}.`, further});
    const golden: [VerdictInput, string, string, boolean][] = [
      [
        input(-0.4, -0.2, {settle}),
        "Repeat on another day before building on it: one day cannot tell the part from what else was special about that day.",
        "It does not say why, nor that another day, car or road would show the same.",
        false,
      ],
      [
        input(-0.1, -0.02, {settle}),
        "Repeat on another day before building on it: one day cannot tell the part from what else was special about that day.",
        "It does not say why, nor that another day, car or road would show the same.",
        false,
      ],
      [
        input(-0.2, -0.02, {settle}),
        "Whether that is worthwhile is open. Settle the size.",
        "It does not say why, nor that another day, car or road would show the same.",
        true,
      ],
      [
        input(0.02, 0.4, {settle, better: "neither"}),
        "Whether that is worthwhile is open. Settle the size.",
        "It does not say why, nor that another day, car or road would show the same.",
        true,
      ],
      [
        input(-0.1, 0.1, {settle}),
        "Nothing more to drive for this question, unless a smaller difference matters than the one declared.",
        "It does not say that there is no difference at all.",
        false,
      ],
      [
        input(-0.4, 0.1, {settle}),
        "Settle the difference.",
        "It does not say that there is no difference.",
        true,
      ],
      [
        input(-0.4, -0.2, {settle, checks: [failed]}),
        "Plan the next day so that this cannot happen; no arithmetic repairs it afterwards.",
        "It does not say that the part does nothing, nor that the figures are wrong: only that they may have another cause.",
        false,
      ],
      [
        input(-0.4, -0.2, {settle, checks: [failed], tooFew: "2 runs"}),
        "Drive more runs of both arms in an order drawn by lot, and mend first: one changeover.",
        "It does not say that the part does nothing.",
        false,
      ],
    ];
    for (const [given, next, silent, isOpen] of golden) {
      const result = verdict(given);
      assert.equal(result.next, next);
      assert.equal(result.silent, silent);
      assert.deepEqual(
        result.further,
        isOpen ? {kind: "new-test", runs: 12, likely_runs: 20, chance: null} : null,
      );
    }
  });

  it("says in its first lines when it hangs on the runs that were left out", () => {
    const of = (state: VerdictState, more: Partial<VerdictInput> = {}) =>
      verdict(input(-0.4, -0.2, {putBack: {runs: [5], state}, ...more}));
    assert.equal(
      of("not-settled").fragile,
      'This hangs on what was left out: with the excluded run 5 put back the verdict would be "not settled".',
    );
    assert.ok(of("not-settled").words.endsWith(of("not-settled").fragile!));
    assert.equal(of("shown-better").fragile, null);
    // Where the test is not fair, the other verdict would not be fair either.
    assert.equal(of("not-settled", {checks: [failed]}).fragile, null);
    assert.match(
      verdict(input(-0.4, 0.1, {putBack: {runs: [2, 7], state: "shown-better"}})).words,
      /with the excluded runs 2, 7 put back the verdict would be "shown better"\.$/,
    );
  });

  it("calls a look that was not planned by its name", () => {
    const plan = {order: "abba" as const, runs: 8, seed: null, looks: 1, locked: null};
    const look = lookOf({placed: 12, used: 12}, {plan, level: 0.95});
    assert.match(
      verdict(input(-0.4, -0.2, {look})).words,
      /Judged after 12 runs, where the plan has its look after 8: a look that was not planned, and the interval is widened for it\.$/,
    );
    const planned = lookOf({placed: 8, used: 8}, {plan, level: 0.95});
    assert.doesNotMatch(verdict(input(-0.4, -0.2, {look: planned})).words, /Judged after/);
  });

  it("never calls a wide interval no difference", () => {
    for (let half = 0.16; half < 3; half *= 1.3) {
      assert.equal(verdict(input(-half / 0.8, half / 0.8)).state, "not-settled");
    }
  });
});
