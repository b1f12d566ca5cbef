import assert from "node:assert/strict";
import {mkdtempSync, rmSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {afterAll, describe, it} from "vitest";
import {judge} from "../../lib/judge/judge.ts";
import {loadDay} from "../../lib/run/day.ts";
import {readSession} from "../../lib/run/session.ts";
import {simulateDay} from "../../lib/simulate/day.ts";
import {SESSION_FILE} from "../../lib/simulate/files.ts";
import {dayInMemory, judgeSimulatedDay, summariseDays} from "../../lib/simulate/judged-days.ts";
import {SCENARIOS as ALL, scenarioNamed} from "../../lib/simulate/scenarios.ts";
import {writeDay} from "../../lib/simulate/write.ts";

/** Days of two arms: those of identical runs are not judged so. */
const SCENARIOS = ALL.filter(({identical, engine}) => !identical && !engine);
const scratch = mkdtempSync(join(tmpdir(), "fairpull-judged-days-"));
afterAll(() => rmSync(scratch, {recursive: true, force: true}));

describe("a day judged in memory", () => {
  it("gets the state, interval and checks that judge gives its folder", () => {
    for (const [i, scenario] of SCENARIOS.entries()) {
      const folder = join(scratch, scenario.name);
      writeDay(simulateDay(scenario, i), folder);
      const session = readSession(join(folder, SESSION_FILE));
      const {verdict, effect, checks} = judge(session, loadDay(session));
      const day = judgeSimulatedDay(scenario, i);
      assert.equal(day.state, verdict.state);
      assert.deepEqual(
        day.interval,
        effect.interval && {low: effect.interval.low, high: effect.interval.high},
      );
      const named = (outcome: string) =>
        checks.filter(check => check.outcome === outcome).map(check => check.name);
      assert.deepEqual([day.failed, day.doubtful], [named("failed"), named("doubtful")]);
    }
  });
  it("is read from the same text as from a folder", () => {
    for (const scenario of SCENARIOS) {
      dayInMemory(simulateDay(scenario, 100)); // the session of a day of this scenario is known now
      const folder = join(scratch, `text ${scenario.name}`);
      const simulated = simulateDay(scenario, 3);
      writeDay(simulated, folder);
      const onDisk = loadDay(readSession(join(folder, SESSION_FILE)));
      const inMemory = dayInMemory(simulated);
      const {file, folder: place, sha256, written} = onDisk.session; // of text and place, the rest is the same
      assert.deepEqual({...inMemory.session, file, folder: place, sha256, written}, onDisk.session);
      assert.deepEqual(
        inMemory.runs.map(({run, pass, clockS}) => ({run, pass, clockS})),
        onDisk.runs.map(({run, pass, clockS}) => ({run, pass, clockS})),
      );
    }
  });
  it("stops at the first look that shows a difference", () => {
    const scenario = scenarioNamed("intake-elbow")!;
    const sure = {...scenario, part: {power: 0.2, massKg: 0, dragAreaM2: 0}};
    const {state, interval} = judgeSimulatedDay(sure, 1, {looks: 2});
    const wide = judgeSimulatedDay(sure, 1).interval!;
    assert.equal(state, "shown-better");
    assert.ok(interval!.high - interval!.low > wide.high - wide.low); // half the runs, and the first share of the false alarms
  });
});

describe("summariseDays", () => {
  it("counts states, covered truths and checks", () => {
    const day = {seed: 1, truth: 0, failed: [], doubtful: []};
    const summary = summariseDays([
      {...day, state: "shown-better", interval: {low: -3, high: -1}},
      {...day, state: "not-settled", interval: {low: -1, high: 1}, doubtful: ["wind"]},
      {...day, state: "not-a-fair-test", interval: {low: -1, high: 3}, failed: ["gear"], doubtful: ["wind"]},
      {...day, state: "too-few-runs", interval: null},
    ]);
    assert.deepEqual(summary, {
      days: 4,
      shown: 0.25,
      no_worthwhile_difference: 0,
      not_a_fair_test: 0.25,
      too_few_runs: 0.25,
      doubtful: 0.25,
      covered: 2 / 3,
      median_width: 2,
      failed_checks: {gear: 1},
      doubtful_checks: {wind: 2},
    });
  });
});
