import assert from "node:assert/strict";
import {describe, it} from "vitest";
import type {OrderName} from "../../lib/result/session.ts";
import {normalQuantile} from "../../lib/stats/distributions.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {answer} from "../../lib/trial/answer.ts";
import {lookOf, plannedLooks} from "../../lib/trial/looks.ts";
import {couldDeal, drawDeal, listDeals} from "../../lib/trial/plan.ts";
import {assertClose} from "../assert-close.ts";
import {reference} from "../reference.ts";
import {labelsOf, toPlan, toRuns} from "./made-runs.ts";

const {row} = reference("stats-sequential");
const LEVEL = 0.95;

describe("plannedLooks", () => {
  it.each([
    // By hand: equal shares of the runs, rounded up to whole blocks, none before 6 runs.
    ["abba", 24, 3, [8, 16, 24]],
    ["abba", 20, 5, [8, 12, 16, 20]],
    ["pairs", 16, 2, [8, 16]],
    ["complete", 20, 4, [6, 10, 16, 20]],
    ["complete", 6, 5, [6]],
  ] as [OrderName, number, number, number[]][])(
    "of %s with %i runs and %i looks",
    (order, runs, looks, at) => {
      assert.deepEqual(plannedLooks(toPlan(order, runs, {looks})), at);
    },
  );
});

describe("lookOf", () => {
  const at = (placed: number, runs: number | null, looks: number, used = placed) =>
    lookOf({placed, used}, {plan: toPlan("abba", runs, {looks}), level: LEVEL});

  it("takes the nominal p of the published boundary", () => {
    // Lan–DeMets, O'Brien–Fleming kind, K = 3 equal looks: z = 3.710303, 2.511427, 1.993048 (row A13-landemets).
    const {obf} = (row("A13-landemets") as unknown as {cases: {K: number; obf: number[]}[]}).cases.find(
      ({K}) => K === 3,
    )!;
    [8, 16, 24].forEach((runs, k) => {
      const look = at(runs, 24, 3);
      assert.deepEqual([look.look, look.kind], [k + 1, k === 2 ? "final" : "planned"]);
      assertClose(normalQuantile(1 - look.nominalP / 2), obf[k], 2e-6, `look ${k + 1}`);
    });
  });

  it("knows a plan of one look, a day cut short, a look in between and a grown session", () => {
    assert.deepEqual([at(8, 8, 1).kind, at(8, 8, 1).nominalP], ["final", 1 - LEVEL]);
    assert.deepEqual([at(8, null, 1).kind, at(8, 12, 1).kind], ["final", "early"]);
    assert.equal(at(12, 24, 3).kind, "between");
    assert.equal(at(28, 24, 3).kind, "grown");
    // A run that was driven again for an excluded one is no growth.
    assert.equal(at(9, 8, 1, 8).kind, "final");
  });

  it("widens a grown session, and says what both looks come to", () => {
    const {nominalP, falseAlarm} = at(16, 8, 1);
    // Pocock kind spending at half of the information: z = 2.156999 then 2.200978 (row A13-landemets, K = 2).
    assertClose(normalQuantile(1 - nominalP / 2), 2.200978, 2e-6);
    // The first look at 5 % alone spent 5 %; two looks at 5 % each come to 8.3 % (Armitage et al. 1969, table 2: 0.083; from memory).
    assert.ok(falseAlarm! > 0.05 && falseAlarm! < 0.083, String(falseAlarm));
  });

  it("refuses several looks without a number of runs", () => {
    assert.throws(() => at(8, null, 2), {
      name: "RangeError",
      message: /2 looks need the number of planned runs/,
    });
  });
});

describe("a planned sequence", () => {
  // 1,200 days a sequence: binomial standard error 0.63 %; the long form is test/calibrate/looks.test.ts.
  const DAYS = 1_200;
  const BOUND = 0.058 + 4 * Math.sqrt((0.05 * 0.95) / DAYS);
  it.each([
    ["abba", 16, 2],
    ["pairs", 24, 3],
    ["drift-balanced", 20, 5],
    ["complete", 20, 5],
  ] as [OrderName, number, number][])("keeps false alarms down: %s, %i runs, %i looks", (order, n, looks) => {
    const random = createRandom(4, `looks ${order}`);
    const plan = toPlan(order, n, {looks});
    const options = {plan, level: LEVEL, worthwhile: 1};
    let shown = 0;
    let covered = 0;
    for (let day = 0; day < DAYS; day++) {
      const labels = drawDeal(order, n, random);
      const runs = toRuns(
        labels,
        Float64Array.from(labels, () => random.normal()),
      );
      const intervals = plannedLooks(plan).map(k => answer(runs.slice(0, k), options).effect.interval);
      const clear = intervals.some(interval => interval !== null && (interval.low > 0 || interval.high < 0));
      if (clear) shown++;
      else covered++;
    }
    assert.ok(shown / DAYS <= BOUND, `shown on ${shown} of ${DAYS} days`);
    // Repeated intervals: all looks together hold the truth.
    assert.ok(covered / DAYS >= 0.942 - 4 * Math.sqrt((0.05 * 0.95) / DAYS));
  });

  it("names a look that was not planned in the checks", () => {
    const values = [5.6, 5.5, 5.52, 5.63, 5.48, 5.66, 5.61, 5.44, 5.5, 5.6, 5.58, 5.47];
    const looked = (n: number, runs: number, looks: number) =>
      answer(toRuns(labelsOf("ABBABAABABBA").slice(0, n), values), {
        plan: toPlan("abba", runs, {looks}),
        level: LEVEL,
        worthwhile: 1,
      }).checks.find(check => check.name === "looks at the data")!;
    assert.equal(looked(8, 8, 1).outcome, "held");
    assert.equal(looked(8, 16, 2).outcome, "held");
    for (const [n, runs, looks, words] of [
      [12, 8, 1, /12 runs where 8 were planned: a look that was not planned.* on up to \d % of days/],
      [8, 12, 1, /judged after 8 of 12 planned runs/],
      [12, 16, 2, /judged after 12 runs, but looks were planned after 8, 16/],
    ] as const) {
      const check = looked(n, runs, looks);
      assert.equal(check.outcome, "doubtful");
      assert.match(check.words, words);
    }
  });
});

describe("couldDeal", () => {
  it.each([
    ["complete", 8],
    ["pairs", 8],
    ["abba", 8],
    ["blocks-of-4", 8],
    ["drift-balanced", 8],
    ["drift-balanced", 12],
  ] as [OrderName, number][])(
    "agrees with listing every deal: %s, %i runs, whole and cut short",
    (order, n) => {
      const deals = [...listDeals(order, n)].map(deal => deal.join(""));
      const random = createRandom(1, "labels");
      for (let k = n - 4; k <= n; k++) {
        const known = new Set(deals.map(deal => deal.slice(0, k)));
        for (let trial = 0; trial < 300; trial++) {
          const labels = Int8Array.from({length: k}, () => random.integer(2));
          assert.equal(couldDeal(order, n, labels), known.has(labels.join("")), labels.join(""));
        }
        for (const start of known) assert.ok(couldDeal(order, n, Int8Array.from(start, Number)));
      }
    },
  );
});
