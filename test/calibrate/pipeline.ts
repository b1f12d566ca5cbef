import {readLogBytes} from "../../lib/log/read.ts";
import {passesOfLog} from "../../lib/run/passes.ts";
import {logCsv} from "../../lib/simulate/csv.ts";
import {simulateDay} from "../../lib/simulate/day.ts";
import type {DayScenario} from "../../lib/simulate/scenario.ts";
import {estimateEffect} from "../../lib/trial/effect.ts";
import type {TrialRun} from "../../lib/trial/model.ts";

const encoder = new TextEncoder();

/** What the main interval said on one simulated day. */
export interface DayOutcome {
  low: number;
  high: number;
  truth: number;
}

/**
 * One day through the whole pipeline: simulated, its logs written as text, loaded, sliced, compared.
 * The order is drawn anew each day, as a club would.
 */
export function runDay(scenario: DayScenario, seed: number): DayOutcome {
  const day = simulateDay(scenario, seed);
  const runs = day.runs.map((run, i): TrialRun => {
    const log = readLogBytes(encoder.encode(logCsv(run)), {name: run.file});
    const passes = passesOfLog(log, scenario.band);
    if (passes.length !== 1) throw new Error(`${run.file}: ${passes.length} passes on day ${seed}`);
    return {
      run: i + 1,
      arm: run.arm,
      value: passes[0].elapsedS,
      block: run.block,
      direction: run.direction,
      timeS: null,
      refitted: false,
    };
  });
  const {interval} = estimateEffect(runs, {
    plan: {...scenario.plan, seed, looks: 1, locked: null},
    level: 0.95,
  });
  if (!interval) throw new Error(`no interval on day ${seed}`);
  return {low: interval.low, high: interval.high, truth: day.truth.effect.value};
}

/** Counts over many days, with the shares judged by their binomial errors. */
export interface Calibration {
  days: number;
  /** share of days whose interval is clear of zero */
  shown: number;
  /** share of days whose interval holds the truth */
  covered: number;
  /** median width of the interval [s] */
  medianWidthS: number;
}

export function calibrate(scenario: DayScenario, days: number, firstSeed: number): Calibration {
  const outcomes = Array.from({length: days}, (_, i) => runDay(scenario, firstSeed + i));
  const widths = outcomes.map(({low, high}) => high - low).sort((a, b) => a - b);
  const share = (holds: (outcome: DayOutcome) => boolean) => outcomes.filter(holds).length / days;
  return {
    days,
    shown: share(({low, high}) => low > 0 || high < 0),
    covered: share(({low, high, truth}) => low <= truth && truth <= high),
    medianWidthS: widths[days >> 1],
  };
}

/** Binomial standard error of a share. */
export function standardErrorOf(share: number, days: number): number {
  return Math.sqrt((share * (1 - share)) / days);
}
