import type {Plan} from "../result/session.ts";
import type {LoadedRun} from "../run/day.ts";
import {compareMeasures, type MeasureComparison} from "../trial/measures.ts";
import type {TrialRun} from "../trial/model.ts";
import {commonChannels, runMeans} from "./run-means.ts";

/** One channel of a survey. */
export interface SurveyedChannel extends MeasureComparison {
  unit: string | null;
  /** one value a run, in the order given; null where the run does not count */
  values: (number | null)[];
  /** spread of runs of one arm about their mean, pooled, in the unit of the channel */
  spread: number;
  /** estimate over spread: what channels are ordered by */
  size: number;
  /** adjusted p at or below 1 − level */
  differs: boolean;
}

/** Every channel that all runs have, compared between the arms: exploratory, adjusted for how many were looked at. */
export interface ChannelSurvey {
  /** largest difference first */
  channels: SurveyedChannel[];
  method: string;
  /** number of channels looked at, those that do not differ between any runs included */
  looked: number;
  leftOut: {name: string; reason: string}[];
}

/**
 * Compares the mean of every common channel within the band between the arms. One value a run counts, never samples; p is
 * adjusted for the number of channels over the plan's re-deals, or by Holm's method where they are fewer than 100.
 *
 * @param loaded all runs of the day in the order driven
 * @param runs   the same runs as the comparison sees them; those with `value: null` keep their place and do not count
 */
export function surveyChannels(
  loaded: readonly LoadedRun[],
  runs: readonly TrialRun[],
  options: {plan: Plan | null; level: number; seed: number},
): ChannelSurvey {
  const {names, leftOut} = commonChannels(loaded.filter((_, i) => runs[i].value !== null));
  const means = names.map(name => runMeans(loaded, name));
  const measures = means.map(({channel, values}) => ({
    name: channel,
    runs: runs.map(
      (run, i): TrialRun => ({...run, value: run.value === null ? null : values[i], excludedValue: null}),
    ),
  }));
  const {measures: compared, method, left} = compareMeasures(measures, options);
  const channels = compared.map((measure): SurveyedChannel => {
    const own = measures.find(({name}) => name === measure.name)!.runs;
    const spread = pooledSpread(own);
    return {
      ...measure,
      values: own.map(({value}) => value),
      unit: means.find(({channel}) => channel === measure.name)!.unit,
      spread,
      size: measure.estimate / spread,
      differs: measure.adjustedP <= 1 - options.level,
    };
  });
  channels.sort((a, b) => Math.abs(b.size) - Math.abs(a.size));
  return {channels, method, looked: names.length, leftOut: [...leftOut, ...left]};
}

/** Standard deviation within arms, above zero: `compareMeasures` leaves channels without spread out. */
function pooledSpread(runs: readonly TrialRun[]): number {
  let squares = 0;
  let df = 0;
  for (const arm of ["baseline", "changed"]) {
    const values = runs.flatMap(run => (run.arm === arm && run.value !== null ? [run.value] : []));
    const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
    squares += values.reduce((sum, value) => sum + (value - mean) ** 2, 0);
    df += Math.max(0, values.length - 1);
  }
  return Math.sqrt(squares / df);
}
