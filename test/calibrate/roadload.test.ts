import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {fitCoastdown} from "../../lib/roadload/coastdown.ts";
import {levelForceN} from "../../lib/roadload/coefficients.ts";
import {armWeights, correctionBudget} from "../../lib/roadload/correction-budget.ts";
import {correctDay} from "../../lib/roadload/day-correction.ts";
import {scenarioNamed} from "../../lib/simulate/scenarios.ts";
import {standardDeviation} from "../../lib/stats/summary.ts";
import {type CoastSet, coastSet} from "../roadload/coast-sets.ts";
import {gradeErrors} from "../roadload/logged-runs.ts";
import {dayInputs, PLACE_ALONE, simulated} from "../roadload/pull-days.ts";

/** Prints a measured figure, so that it can be copied where it is told. */
const tell = (what: string, value: number) => console.log(`${what}: ${value.toPrecision(4)}`);

describe("coastdowns", () => {
  it("cover F0 and F2 over 1,000 sets of six runs, two ways, at 10 Hz", () => {
    const car: CoastSet = {
      load: {f0N: 150, f1NPerMps: 0, f2NPerMps2: 0.38},
      massKg: 1400,
      effectiveMassKg: 1442,
      rateHz: 10,
    };
    const sets = 1000;
    const truth = levelForceN(car.load, 80 / 3.6);
    const [f0, f2] = [{held: 0}, {held: 0}];
    const off: number[] = [];
    for (let seed = 1; seed <= sets; seed++) {
      const fit = fitCoastdown(coastSet(car, seed), {...car, forceAtMps: [80 / 3.6]})!;
      const covers = (value: number, interval: {low: number; high: number}) =>
        Number(interval.low <= value && value <= interval.high);
      f0.held += covers(150, fit.f0N.interval!);
      f2.held += covers(0.38, fit.f2NPerMps2.interval!);
      off.push(Math.abs(fit.forces[0].forceN.estimate / truth - 1));
    }
    off.sort((a, b) => a - b);
    tell("F0 covered", f0.held / sets);
    tell("F2 covered", f2.held / sets);
    tell("median error of the force at 80 km/h", off[sets / 2]);
    for (const {held} of [f0, f2]) assert.ok(held / sets >= 0.925 && held / sets <= 0.975, String(held));
    assert.ok(off[sets / 2] <= 0.015);
  });
});

describe("the joint profile", () => {
  it("errs over 500 days of 12 runs by at most 1.2/√12 of what one run errs at the same smoothing", () => {
    const days = 500;
    const {ratio, held} = gradeErrors(days);
    tell("grade error of the joint profile over that of one run, times √12", ratio * Math.sqrt(12));
    tell("grade within its interval", held / days);
    assert.ok(ratio <= 1.2 / Math.sqrt(12), String(ratio));
    assert.ok(held / days >= 0.925 && held / days <= 0.975, String(held));
  });
});

describe("corrected band time", () => {
  it("takes out the starting place over 500 days of 12 runs, within its stated uncertainty", () => {
    const days = 500;
    let [raw, corrected, held] = [0, 0, 0];
    for (let seed = 1; seed <= days; seed++) {
      const runs = simulated(PLACE_ALONE, seed);
      const day = correctDay(runs, dayInputs(PLACE_ALONE));
      raw += standardDeviation(day.runs.map(run => run!.rawS))! ** 2;
      corrected += standardDeviation(day.runs.map(run => run!.correctedS))! ** 2;
      const weights = armWeights(runs.map(run => run.arm));
      const difference = weights.reduce((sum, weight, i) => sum + weight * day.runs[i]!.correctedS, 0);
      if (Math.abs(difference) <= correctionBudget(day, weights).expandedS) held++;
    }
    const removed = 1 - Math.sqrt(corrected / raw);
    tell("spread removed", removed);
    tell("within the stated uncertainty", held / days);
    assert.ok(removed >= 0.6, String(removed));
    assert.ok(held / days >= 0.925 && held / days <= 0.975, String(held));
  });
  it("adds at most 5 % to the spread where road and start are alike", () => {
    const scenario = scenarioNamed("null-day")!;
    const alike = {...scenario, driver: {...scenario.driver, placeSdM: 0}};
    let [raw, corrected] = [0, 0];
    for (let seed = 1; seed <= 500; seed++) {
      const day = correctDay(simulated(alike, seed), dayInputs(alike));
      raw += standardDeviation(day.runs.map(run => run!.rawS))! ** 2;
      corrected += standardDeviation(day.runs.map(run => run!.correctedS))! ** 2;
    }
    tell("spread after correction over raw", Math.sqrt(corrected / raw));
    assert.ok(Math.sqrt(corrected / raw) <= 1.05);
  });
});
