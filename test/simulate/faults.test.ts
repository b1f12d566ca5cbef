import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {levelPasses} from "../../lib/series/passes.ts";
import {type SimulatedRun, simulateDay} from "../../lib/simulate/day.ts";
import {FAULTS, faultyDayFiles} from "../../lib/simulate/faults.ts";
import type {LoggedChannels} from "../../lib/simulate/logger.ts";
import {retrace} from "../../lib/simulate/retrace.ts";
import {scenarioNamed} from "../../lib/simulate/scenarios.ts";
import {assertClose} from "../assert-close.ts";

const SCENARIO = scenarioNamed("abba2")!;
const DAY = simulateDay(SCENARIO, 7);
const ALL = {throttle: true, engineSpeed: true, gear: true};
const {fromMps, toMps} = SCENARIO.band;

function bandTimeS({timeS, speedMps}: LoggedChannels): number {
  const passes = levelPasses(timeS, speedMps, fromMps, toMps, {maxGapS: 0.5});
  assert.equal(passes.length, 1);
  return passes[0].endS - passes[0].startS;
}

describe("retrace", () => {
  it("gives a run back where nothing is changed", () => {
    for (const run of DAY.runs) {
      // What is left is the smoothing of 0.3 s about the two ends of the band, where the course hardly bends.
      assertClose(bandTimeS(retrace(run, {}).log), bandTimeS(run), 0.01);
    }
  });
  it("takes half as long again at two thirds of the acceleration", () => {
    const [run] = DAY.runs;
    const slow = retrace(run, {pullShare: () => 2 / 3}).log;
    // The noise of speed falls on other places: 0.03 m/s white and 0.02 correlated at both ends, over 1.2 and 1.9 m/s² then.
    assertClose(bandTimeS(slow), 1.5 * bandTimeS(run), 0.1);
  });
  it("loses the time of a lift and that of the speed it cost", () => {
    const lift = {atMps: 24, forS: 0.5, slowingMps2: 0.8};
    const excess = DAY.runs.map(run => {
      // By hand: 0.5 s, and 0.4 m/s that are gained again at the acceleration of the run there.
      const there = levelPasses(run.timeS, run.speedMps, 22, 26, {maxGapS: 0.5})[0];
      const again = (0.4 * (there.endS - there.startS)) / 4;
      const lifted = retrace(run, {lift});
      assert.ok(lifted.phase.filter(phase => phase === "lifted").length >= 5);
      return bandTimeS(lifted.log) - bandTimeS(run) - 0.5 - again;
    });
    // The noise of speed falls on another place at the end of the band: some 0.05 s a run, a third of that in the mean of eight.
    assertClose(excess.reduce((sum, value) => sum + value, 0) / excess.length, 0, 0.05);
  });
  it("moves positions with the distance", () => {
    const [run] = DAY.runs;
    const slow = retrace(run, {pullShare: () => 0.5}).log;
    const degrees = (log: LoggedChannels) => log.longitudeDeg.at(-1)! - log.longitudeDeg[0];
    const metres = (log: LoggedChannels) =>
      log.speedMps.reduce((sum, speed) => sum + speed / SCENARIO.logger.rateHz, 0);
    // positions wander by 0.6 m at each end of some 250 m
    assertClose(degrees(slow) / degrees(run), metres(slow) / metres(run), 0.02);
  });
});

describe("faultyDayFiles", () => {
  it.each(FAULTS)("plants %s, the same for the same seed, and leaves the other runs as they were", fault => {
    const clean = faultyDayFiles(DAY, {fault: null, columns: ALL, seed: 3});
    const faulty = faultyDayFiles(DAY, {fault, columns: ALL, seed: 3});
    assert.deepEqual(faultyDayFiles(DAY, {fault, columns: ALL, seed: 3}), faulty);
    assert.deepEqual([...faulty.files.keys()], [...clean.files.keys()]);
    const speedOf = (text: string) => text.split("\n").map(line => line.split(",")[1]);
    const differing = DAY.runs.filter(
      ({file}) => String(speedOf(faulty.files.get(file)!)) !== String(speedOf(clean.files.get(file)!)),
    );
    const numbers = (runs: readonly SimulatedRun[]) => runs.map(run => run.order);
    assert.deepEqual(numbers(differing), faulty.runs);
    assert.equal(
      faulty.files.get("session.yaml") === clean.files.get("session.yaml"),
      !["fuel-between-arms", "one-changeover"].includes(fault),
    );
  });
  it("writes the columns asked for", () => {
    const header = (columns: typeof ALL) =>
      faultyDayFiles(DAY, {fault: null, columns, seed: 1}).files.get("run-01.csv")!.split("\n")[0];
    assert.match(header(ALL), /hdop,throttle \[%\],engine speed \[rpm\],gear$/);
    assert.match(header({throttle: false, engineSpeed: false, gear: false}), /hdop$/);
  });
});
