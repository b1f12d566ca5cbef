import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {createRandom, type Random} from "../../lib/stats/random.ts";
import {answer} from "../../lib/trial/answer.ts";
import {furtherRuns} from "../../lib/trial/further-runs.ts";
import {drawDeal} from "../../lib/trial/plan.ts";
import {settleWords} from "../../lib/trial/settle.ts";
import {labelsOf, toPlan, toRuns} from "./made-runs.ts";

const LEVEL = 0.95;
const print = (value: number) => `${value.toFixed(3)} s`;

/** A day of two ABBA blocks with a true difference in spreads of a run. */
function dayOf(truth: number, random: Random, runs = 8) {
  const labels = drawDeal("abba", runs, random);
  return toRuns(
    labels,
    Float64Array.from(labels, label => 50 + truth * label + random.normal()),
  );
}

/** Number of runs of a new test that settles the question on half of days, by simulating whole days of the truth. */
function trueRuns(truth: number, worthwhile: number, random: Random): number {
  const DAYS = 400;
  for (let n = 8; ; n += 4) {
    const options = {plan: toPlan("abba", n), level: LEVEL, worthwhile};
    let settled = 0;
    for (let day = 0; day < DAYS; day++)
      if (answer(dayOf(truth, random, n), options).state !== "not-settled") settled++;
    if (settled / DAYS >= 0.5) return n;
  }
}

describe("furtherRuns", () => {
  it.each([
    // true difference and worthwhile difference, in spreads of a run
    [0, 1],
    [0.5, 1],
    [1, 1],
    [0, 1.5],
    [1, 1.5],
    [1.5, 1.5],
    [1, 2],
  ])("comes within a factor 1.5 of the truth: difference %f, worthwhile %f", (truth, worthwhile) => {
    const random = createRandom(12, `further ${truth} ${worthwhile}`);
    const options = {plan: toPlan("abba", 8), level: LEVEL, worthwhile};
    const asked: number[] = [];
    while (asked.length < 151) {
      const {effect, state} = answer(dayOf(truth, random), options);
      if (state !== "not-settled") continue;
      const found = furtherRuns("difference", {...options, effect, random})!;
      assert.equal(found.kind, "new-test");
      asked.push(found.runs ?? Number.POSITIVE_INFINITY);
      assert.ok((found.likelyRuns ?? Number.POSITIVE_INFINITY) >= asked[asked.length - 1]);
    }
    const median = asked.sort((a, b) => a - b)[75];
    const expected = trueRuns(truth, worthwhile, random);
    assert.ok(
      median <= 1.5 * expected && median >= expected / 1.5,
      `asks for ${median} runs, true ${expected}`,
    );
  });

  it("offers the next look of a planned sequence, with the chance that it settles", () => {
    const random = createRandom(13, "next look");
    const plan = toPlan("abba", 16, {looks: 2});
    const options = {plan, level: LEVEL, worthwhile: 1.5};
    let chances = 0;
    let settled = 0;
    let days = 0;
    for (let day = 0; day < 2_000; day++) {
      const runs = dayOf(1, random, 16);
      const {effect, state} = answer(runs.slice(0, 8), options);
      if (state !== "not-settled") continue;
      days++;
      if (answer(runs, options).state !== "not-settled") settled++;
      if (days > 300) continue;
      const found = furtherRuns("difference", {...options, effect, random})!;
      assert.deepEqual([found.kind, found.runs, found.likelyRuns], ["next-look", 8, null]);
      chances += found.chance!;
    }
    // The chance is told without knowing the truth; averaged over days it must be near the share that does settle. Four binomial
    // errors of some 1,000 days, and 0.1 for the flat prior and the plain t quantile.
    assert.ok(
      Math.abs(chances / 300 - settled / days) < 0.16,
      `told ${chances / 300}, true ${settled / days}`,
    );
  });

  it("asks for none where no day's work would do", () => {
    const runs = toRuns(labelsOf("ABBABAAB"), [5.1, 5, 5.2, 5.1, 5, 5.2, 5.1, 5.2]);
    const options = {plan: toPlan("abba"), level: LEVEL, worthwhile: 0.0001};
    const {effect} = answer(runs, options);
    const today = {...options, effect, random: createRandom(1, "settle")};
    const {words, further} = settleWords("difference", today, print);
    if (further!.runs === null) assert.match(words, /not even 120 runs would do/);
    else assert.match(words, /a new planned test of about \d+ runs/);
  });

  it("gives the same number for the same seed", () => {
    const random = () => createRandom(4, "settle");
    const {effect} = answer(dayOf(0, createRandom(2, "day")), {plan: null, level: LEVEL, worthwhile: 1});
    const today = {effect, plan: null, level: LEVEL, worthwhile: 1};
    assert.deepEqual(
      furtherRuns("size", {...today, random: random()}),
      furtherRuns("size", {...today, random: random()}),
    );
  });
});
