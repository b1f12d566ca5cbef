import assert from "node:assert/strict";
import {describe, it} from "vitest";
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

  it("never calls a wide interval no difference", () => {
    for (let half = 0.16; half < 3; half *= 1.3) {
      assert.equal(verdict(input(-half / 0.8, half / 0.8)).state, "not-settled");
    }
  });
});
