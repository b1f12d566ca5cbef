import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {armWeights, correctionBudget, drawnCorrection} from "../../lib/roadload/correction-budget.ts";
import {correctDay} from "../../lib/roadload/day-correction.ts";
import {scenarioNamed} from "../../lib/simulate/scenarios.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {standardDeviation} from "../../lib/stats/summary.ts";
import {assertClose} from "../assert-close.ts";
import {assertShareWithin} from "../stats/reference.ts";
import {dayInputs, PLACE_ALONE, simulated} from "./pull-days.ts";

const spread2 = (values: number[]) => standardDeviation(values)! ** 2;

describe("correctDay", () => {
  it("takes out what the starting place does, and states its own uncertainty", {timeout: 60_000}, () => {
    // The effect is zero, so the corrected difference is error alone. 20 days; the 500 of the long form are in test/calibrate.
    const days = 20;
    let [raw, corrected, held] = [0, 0, 0];
    for (let seed = 1; seed <= days; seed++) {
      const runs = simulated(PLACE_ALONE, seed);
      const day = correctDay(runs, dayInputs(PLACE_ALONE));
      raw += spread2(day.runs.map(run => run!.rawS));
      corrected += spread2(day.runs.map(run => run!.correctedS));
      const weights = armWeights(runs.map(run => run.arm));
      const difference = weights.reduce((sum, weight, i) => sum + weight * day.runs[i]!.correctedS, 0);
      if (Math.abs(difference) <= correctionBudget(day, weights).expandedS) held++;
    }
    const removed = 1 - Math.sqrt(corrected / raw);
    assert.ok(removed >= 0.55, `${removed} of the spread removed`); // 0.6 over 500 days; 20 of them are good to 0.05
    assertShareWithin(held, days, 0.925, 0.975);
  });
  it("adds hardly anything where road and start are alike", () => {
    const scenario = {
      ...scenarioNamed("null-day")!,
      driver: {...PLACE_ALONE.driver, placeSdM: 0, rollInSdMps: 0.25},
    };
    let [raw, corrected] = [0, 0];
    for (let seed = 1; seed <= 10; seed++) {
      const day = correctDay(simulated(scenario, seed), dayInputs(scenario));
      raw += spread2(day.runs.map(run => run!.rawS));
      corrected += spread2(day.runs.map(run => run!.correctedS));
    }
    assert.ok(Math.sqrt(corrected / raw) <= 1.05, `${Math.sqrt(corrected / raw)} times the raw spread`);
  });
  it("tells the wind from both directions, and that it cannot from one", () => {
    const both = scenarioNamed("both-ways")!;
    const found: number[] = [];
    let held = 0;
    for (let seed = 1; seed <= 10; seed++) {
      const {wind} = correctDay(simulated(both, seed), dayInputs(both));
      assert.equal(wind.basis, "both directions");
      assert.ok(wind.gradeU > 0 && wind.u > wind.gradeU);
      found.push(wind.value);
      if (Math.abs(wind.value - 2) <= 2.3 * wind.u) held++;
    }
    assertClose(found.reduce((sum, value) => sum + value, 0) / 10, 2, 0.8); // ten days, each good to some 0.6 m/s
    assert.ok(held >= 8, `${held} of 10 days`);
    const one = scenarioNamed("null-day")!;
    const {wind} = correctDay(simulated(one, 1), dayInputs(one));
    assert.equal(wind.basis, "cannot be told");
    assert.equal(wind.value, 0);
  });
  it("tells no wind where each arm kept to one direction, nor where the runs leave it worse known than days differ", () => {
    const both = scenarioNamed("both-ways")!;
    const runs = simulated(both, 1);
    const split = runs.map(run => ({
      ...run,
      arm: run.direction === "out" ? ("baseline" as const) : ("changed" as const),
    }));
    assert.equal(correctDay(split, dayInputs(both)).wind.basis, "cannot be told");
    // two runs each way, one of them with a fifth less power: that scatter is worth some ten m/s of wind
    const few = runs
      .slice(0, 4)
      .map((run, i) => ({...run, arm: i < 2 ? ("baseline" as const) : ("changed" as const)}));
    const odd = few.map((run, i) => (i === 0 ? {...run, massKg: 1.2 * run.massKg} : run));
    const {wind} = correctDay(odd, dayInputs(both));
    assert.deepEqual([wind.basis, wind.value], ["cannot be told", 0]);
  });
  it("corrects for no grade without heights, and names heights that step", () => {
    const runs = simulated(PLACE_ALONE, 1);
    const flat = correctDay(
      runs.map(run => ({...run, heightM: null})),
      dayInputs(PLACE_ALONE),
    );
    assert.equal(flat.profile, null);
    assert.ok(flat.runs.every(run => run!.parts.grade === 0));
    const stepped = runs.map((run, i) =>
      i === 3 ? {...run, heightM: run.heightM!.map((value, k) => (k > 40 ? value + 9 : value))} : run,
    );
    const day = correctDay(stepped, dayInputs(PLACE_ALONE));
    assert.match(
      day.problems[3]!,
      /its height steps by 9\.\d m at \d\.\d s, so it tells nothing of the road/,
    );
    assert.equal(day.profile!.runs, 11);
    assert.notEqual(day.runs[3], null); // it is still corrected by the road of the others
  });
});

describe("correctionBudget", () => {
  const scenario = scenarioNamed("both-ways")!;
  const runs = simulated(scenario, 2);
  const day = correctDay(runs, dayInputs(scenario));
  const weights = armWeights(
    runs.map(run => run.arm),
    runs.map(run => run.direction),
  );

  it("keeps what both arms share apart from what is new in each run", () => {
    const budget = correctionBudget(day, weights);
    const sum = (kind: string) =>
      Math.sqrt(
        budget.rows.reduce((total, row) => total + (row.kind === kind ? row.contributionS ** 2 : 0), 0),
      );
    assertClose(budget.sharedUS, sum("shared"), 1e-12);
    assertClose(budget.runByRunUS, sum("run by run"), 1e-12);
    assertClose(budget.uS, Math.hypot(budget.sharedUS, budget.runByRunUS), 1e-12);
    // mass, drag and rolling scale the correction alone, so they nearly cancel in the difference
    for (const row of budget.rows.slice(0, 4))
      assert.ok(row.contributionS < 0.003, `${row.input}: ${row.contributionS}`);
  });
  it("agrees with drawing all inputs at once", () => {
    // JCGM 101:2008, 8: the law of propagation is validated by drawing; 600 draws give a spread to 1/√1200 = 3 %, four of them.
    const budget = correctionBudget(day, weights);
    const drawn = drawnCorrection(day, weights, {random: createRandom(1, "budget"), nTrials: 600});
    assertClose(drawn.standardUncertainty, budget.uS, {rel: 0.15});
    assertClose(drawn.estimate, budget.correctionS, budget.uS);
  });
  it("refuses a weight on a run without a correction", () => {
    const short = correctDay(
      runs.map((run, i) => (i === 0 ? {...run, pass: null} : run)),
      dayInputs(scenario),
    );
    assert.throws(() => correctionBudget(short, weights), {
      name: "RangeError",
      message: /run 1 has a weight but no correction: it has no pass/,
    });
  });
});
