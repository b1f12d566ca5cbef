import {levelPasses} from "../../lib/series/passes.ts";
import {type SimulatedRun, simulateDay, trueEffect} from "../../lib/simulate/day.ts";
import type {DayScenario} from "../../lib/simulate/scenario.ts";
import {scenarioNamed} from "../../lib/simulate/scenarios.ts";
import {estimateEffect} from "../../lib/trial/effect.ts";
import type {TrialRun} from "../../lib/trial/model.ts";

/** Band time of a simulated run as its log has it [s]. */
export function loggedBandTime(run: SimulatedRun, {band}: DayScenario): number {
  const passes = levelPasses(run.timeS, run.speedMps, band.fromMps, band.toMps, {maxGapS: 0.5});
  if (passes.length !== 1) throw new Error(`${run.file} has ${passes.length} passes`);
  return passes[0].endS - passes[0].startS;
}

/** A simulated day as the comparison sees it, with its interval by the plan's own model. */
export function effectOfDay(scenario: DayScenario, seed: number): ReturnType<typeof estimateEffect> {
  const {runs} = simulateDay(scenario, seed);
  const trialRuns = runs.map(
    (run): TrialRun => ({
      run: run.order,
      arm: run.arm,
      value: loggedBandTime(run, scenario),
      block: run.block,
      direction: run.direction,
      timeS: clockS(run.startClock),
      refitted: false,
    }),
  );
  const {order, runs: planned} = scenario.plan;
  const plan = {order, runs: planned, seed, looks: 1, locked: null};
  return estimateEffect(trialRuns, {plan, level: 0.95});
}

function clockS(clock: string): number {
  const [hours, minutes] = clock.split(":").map(Number);
  return 60 * (60 * hours + minutes);
}

/** The demo's scenario with a part whose true effect is a given change of band time [s]. */
export function withEffect(scenario: DayScenario, effectS: number): DayScenario {
  let [low, high] = [-0.2, 0.2];
  const of = (power: number) => ({...scenario, part: {power, massKg: 0, dragAreaM2: 0}});
  for (let i = 0; i < 40; i++) {
    const middle = (low + high) / 2;
    if (trueEffect(of(middle)).effect.value > effectS)
      low = middle; // more power, less time
    else high = middle;
  }
  return of(high);
}

/** How many days like the demo's, with a true effect of exactly the worthwhile difference, show it by the 95 % interval. */
export function countShown({nDays, firstSeed}: {nDays: number; firstSeed: number}): number {
  const demo = scenarioNamed("intake-elbow")!;
  const scenario = withEffect(demo, -demo.worthwhileS);
  let shown = 0;
  for (let seed = firstSeed; seed < firstSeed + nDays; seed++) {
    const {interval} = effectOfDay(scenario, seed);
    if (interval && interval.high < 0) shown++;
  }
  return shown;
}
