import assert from "node:assert/strict";
import {describe, it} from "vitest";
import type {Plan} from "../../lib/result/session.ts";
import {type DrivenRun, planDepartures} from "../../lib/trial/departures.ts";
import {drawSchedule} from "../../lib/trial/schedule.ts";
import {fixedOf, planLock} from "../../lib/trial/seal.ts";

const base = {
  question: "Is it quicker?",
  primary: "band-time",
  worthwhile: "0.15 s",
  band: {from: "60 km/h", to: "110 km/h", gear: 3},
  arms: {baseline: "hose", changed: "elbow"},
};
const rest = {order: "drift-balanced", runs: 12, seed: 7, looks: 1, ways: "both", fixed: fixedOf(base)};
const locked = planLock(rest.fixed, rest);
const plan = {...rest, locked} as Plan;
const written = {...base, plan};
const driven = drawSchedule({order: "drift-balanced", runs: 12, seed: 7, ways: "both"}).map(
  (arm, i): DrivenRun => ({
    run: i + 1,
    arm,
    direction: i % 2 ? "back" : "out",
    exclude: null,
    excludedBefore: null,
  }),
);

describe("planDepartures", () => {
  it("finds none in a day that went as planned", () => {
    assert.deepEqual(planDepartures(plan, written, driven), []);
  });
  it("cannot tell anything without a lock", () => {
    assert.equal(planDepartures({...plan, locked: null}, written, driven), null);
  });
  it.each([
    [
      "band",
      {band: {from: "60 km/h", to: "100 km/h", gear: 3}},
      /the band was planned as .*110 km\/h.* and is .*100 km\/h/,
    ],
    ["primary", {primary: "band-power"}, /the measure was planned as band-time and is band-power/],
    ["worthwhile", {worthwhile: "0.3 s"}, /planned as 0.15 s and is 0.3 s/],
    ["arms", {arms: {baseline: "x", changed: "y"}}, /the names of the arms/],
    ["better", {better: "higher"}, /which direction is better was planned as nothing and is higher/],
  ])("names a changed %s", (what, change, words) => {
    const left = planDepartures(plan, {...written, ...change}, driven)!;
    assert.deepEqual(
      left.map(departure => departure.what),
      [what],
    );
    assert.match(left[0].words, words);
  });
  it("says that a plan changed with its copy cannot be trusted", () => {
    const forged = {...plan, fixed: {...plan.fixed, worthwhile: "0.3 s"}};
    const left = planDepartures(forged, {...written, worthwhile: "0.3 s", plan: forged}, driven)!;
    assert.match(left[0].words, /changed after it was locked/);
  });
  it("names runs that are missing, exchanged, turned, left out", () => {
    assert.match(
      planDepartures(plan, written, driven.slice(0, 10))![0].words,
      /12 runs were planned, 10 are/,
    );
    const other = driven.map((run, i) =>
      i === 4 ? ({...run, arm: run.arm === "baseline" ? "changed" : "baseline"} as const) : run,
    );
    assert.match(
      planDepartures(plan, written, other)![0].words,
      new RegExp(`^run 5 was to be ${driven[4].arm} and is ${other[4].arm}$`),
    );
    const turned = driven.map((run, i) => (i === 2 ? ({...run, direction: "back"} as const) : run));
    assert.match(planDepartures(plan, written, turned)![0].words, /^run 3 was to go out and went back$/);
    const dropped = driven.map((run, i) =>
      i === 8 ? ({...run, exclude: "lorry", excludedBefore: "result known"} as const) : run,
    );
    assert.match(
      planDepartures(plan, written, dropped)![0].words,
      /run 9 is left out \(lorry\), when its result was known/,
    );
  });
});
