import assert from "node:assert/strict";
import {unlinkSync} from "node:fs";
import {dirname, join} from "node:path";
import {describe, it} from "vitest";
import {judge} from "../../lib/judge/judge.ts";
import type {JudgeDocument} from "../../lib/result/documents.ts";
import {judgeSchema} from "../../lib/result/schemas/judge.ts";
import {readSession} from "../../lib/run/session.ts";
import {assertClose} from "../assert-close.ts";
import {madeDay, madeRuns} from "./made-day.ts";

const ORDER = "ABBAABBA";
const NEAR = [5.6, 5.2, 5.21, 5.62, 5.58, 5.22, 5.19, 5.61];

function judged(session: string): JudgeDocument {
  const document = judge(readSession(session));
  // Also after a round trip through JSON, where NaN would have become null.
  assert.deepEqual(judgeSchema.parse(JSON.parse(JSON.stringify(document))), document);
  return document;
}

describe("judge", () => {
  it("finds the difference that is in the logs", () => {
    const result = judged(madeDay(madeRuns(ORDER, NEAR), "plan: {order: abba, runs: 8}"));
    // By hand: mean changed 5.205, mean baseline 5.6025 (ABBA blocks are balanced against the drift term). Logs carry
    // nine decimals and the speed rises in a straight line, so only rounding is left.
    assertClose(result.effect.estimate!, 5.205 - 5.6025, 1e-6);
    assert.equal(result.verdict.state, "shown-better");
    assert.equal(result.verdict.size, "at-least-worthwhile");
    assert.equal(result.arms.changed.n, 4);
    assert.deepEqual(result.permutation && [result.permutation.deals, result.permutation.floor], [4, 0.5]);
    assert.equal(result.inputs.length, 9);
    assert.equal(result.fittings.baseline + result.fittings.changed, 5);
    assert.doesNotMatch(JSON.stringify(result), /NaN|undefined/);
  });

  it.each([
    [
      "shown-worse",
      NEAR.map((value, i) => ("ABBAABBA"[i] === "B" ? value + 0.9 : value)),
      "plan: {order: abba}",
    ],
    ["no-worthwhile-difference", [5.6, 5.61, 5.6, 5.61, 5.59, 5.6, 5.61, 5.6], "plan: {order: abba}"],
    ["not-settled", [5.6, 5.3, 5.9, 5.5, 5.8, 5.2, 5.9, 5.7], "plan: {order: abba}"],
  ])("reaches %s", (state, times, keys) => {
    assert.equal(judged(madeDay(madeRuns(ORDER, times), keys)).verdict.state, state);
  });

  it("reaches too few runs with one ABBA block, and says so", () => {
    const result = judged(madeDay(madeRuns("ABBA", NEAR), "plan: {order: abba}"));
    assert.equal(result.verdict.state, "too-few-runs");
    assert.equal(result.effect.interval, null);
    assert.notEqual(result.effect.estimate, null);
    assert.match(result.verdict.words, /the baseline arm has 2 usable runs, 3 are needed/);
  });

  it("is not a fair test with one changeover, however clear the numbers", () => {
    const result = judged(madeDay(madeRuns("AAAABBBB", [5.6, 5.61, 5.62, 5.6, 5.1, 5.12, 5.1, 5.11])));
    assert.equal(result.verdict.state, "not-a-fair-test");
    assert.match(result.verdict.words, /came before all of the other/);
    assert.notEqual(result.effect.interval, null);
  });

  it("is not a fair test when the arms were recorded in different ways", () => {
    const session = madeDay(
      madeRuns(ORDER, NEAR, i => ("ABBAABBA"[i] === "A" ? {speedHeader: "wheel speed [km/h]"} : {})),
      "plan: {order: abba}\ncolumns: {}",
    );
    const result = judged(session);
    assert.equal(result.verdict.state, "not-a-fair-test", JSON.stringify(result.checks));
  });

  it("keeps excluded runs in the list with their reason, and in the re-deals", () => {
    const times = [...NEAR, ...NEAR];
    const session = madeDay(
      madeRuns(ORDER + ORDER, times, i =>
        i === 4 ? {keys: 'exclude: "lifted at 95", excludedBefore: not known'} : {},
      ),
      "plan: {order: abba, runs: 16}",
    );
    const result = judged(session);
    assert.deepEqual(result.excluded, [
      {run: 5, file: "run-05.csv", arm: "baseline", reason: "lifted at 95", excluded_before: "not known"},
    ]);
    assert.equal(result.arms.baseline.n, 7);
    assert.equal(result.permutation!.deals, 16);
    assertClose(result.runs[4].value!, NEAR[4], 1e-6);
    assert.equal(result.runs[4].used, false);
  });

  it("leaves out a run that never reaches the band, and says which", () => {
    const slow = "time [s],speed [km/h]\n0,50\n1,60\n2,70\n3,80\n";
    const session = madeDay(
      madeRuns(ORDER + ORDER, [...NEAR, ...NEAR], i => (i === 6 ? {text: slow} : {})),
      "plan: {order: abba}",
    );
    const result = judged(session);
    assert.equal(result.excluded[0].run, 7);
    assert.match(result.excluded[0].reason, /never runs through the whole band/);
    assert.equal(result.checks.find(check => check.name === "every run has its pass")?.outcome, "doubtful");
  });

  it("tells part throttle in most runs of an arm from one late foot", () => {
    const late = (which: (i: number) => boolean) =>
      madeRuns(ORDER, NEAR, i => ({
        extra: ["throttle [%]", (_time, speed) => (which(i) && speed < 75 ? 60 : 100)],
      }));
    const outcome = (which: (i: number) => boolean) =>
      judged(madeDay(late(which), "plan: {order: abba}")).checks.find(check => check.name === "full throttle")
        ?.outcome;
    assert.equal(
      outcome(() => false),
      "held",
    );
    assert.equal(
      outcome(i => i === 2),
      "doubtful",
    );
    assert.equal(
      outcome(i => "ABBAABBA"[i] === "B"),
      "failed",
    );
  });

  it("compares conditions that were noted, and only those", () => {
    const warm = madeRuns(ORDER, NEAR, i => ({
      keys: `conditions: {airTemperature: ${"ABBAABBA"[i] === "B" ? 28 : 20} degC}`,
    }));
    const checks = judged(madeDay(warm, "plan: {order: abba}")).checks;
    const air = checks.find(check => check.name === "air temperature")!;
    assert.equal(air.outcome, "doubtful");
    assert.match(air.words, /\+8\.0 K/);
    assert.equal(checks.find(check => check.name === "fuel")!.outcome, "not-checkable");
  });

  it("takes a worthwhile difference in per cent of the baseline mean", () => {
    const session = madeDay(madeRuns(ORDER, NEAR), "plan: {order: abba}");
    const result = judge({...readSession(session), worthwhile: {value: 2, unit: "%"}});
    assertClose(result.worthwhile.in_primary_unit!, 0.02 * 5.6025, 1e-6);
  });

  it("refuses an arm without a usable run, with the reason of each", () => {
    const session = madeDay(
      madeRuns(ORDER, NEAR, i => ("ABBAABBA"[i] === "B" ? {keys: "exclude: rain"} : {})),
    );
    assert.throws(() => judge(readSession(session)), {
      name: "InputError",
      message: /the changed arm has no usable run; run 2 \(line 11\): excluded: rain/,
    });
  });

  it("names run, line and file of a log that is missing or no log", () => {
    const missing = madeDay(madeRuns(ORDER, NEAR));
    unlinkSync(join(dirname(missing), "run-03.csv"));
    assert.throws(
      () => judge(readSession(missing)),
      (error: {exitCode: number; details: {run: number; file: string}}) => {
        assert.equal(error.exitCode, 2);
        assert.equal(error.details.run, 3);
        assert.match(error.details.file, /run-03\.csv/);
        return true;
      },
    );
    const empty = madeDay(madeRuns(ORDER, NEAR, i => (i === 1 ? {text: ""} : {})));
    assert.throws(
      () => judge(readSession(empty)),
      (error: {exitCode: number; details: {run: number}}) => {
        assert.equal(error.exitCode, 1);
        assert.equal(error.details.run, 2);
        return true;
      },
    );
  });
});
