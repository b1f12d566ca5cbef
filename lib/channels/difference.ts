import type {Plan} from "../result/session.ts";
import {type CurveBand, curveBand} from "../stats/curve-band.ts";
import {createRandom} from "../stats/random.ts";
import {type Model, planModel, type TrialRun} from "../trial/model.ts";
import {labelsOf, redeals} from "../trial/redeals.ts";
import type {ChannelCurves} from "./curves.ts";
import {type DifferingRange, differingRanges} from "./ranges.ts";

/** Below this number of re-deals the largest |t| takes too few values for a band of 95 %. */
export const LEAST_DEALS = 100;

/** How a channel differs between the arms along its axis. */
export interface CurveDifference {
  curves: ChannelCurves;
  /** changed − baseline, with its simultaneous band; null where the runs are too few */
  band: CurveBand | null;
  /** why there is no band, in words, or null */
  tooFew: string | null;
  ranges: DifferingRange[];
  model: string;
}

export interface DifferenceOptions {
  plan: Plan | null;
  level: number;
  seed: number;
}

/**
 * Difference of a channel's curves between the arms, with a band that holds along the whole curve. The run is the unit; terms
 * and re-deals are those of the plan. With fewer than 100 re-deals the band rests on normal draws instead.
 *
 * @param runs all runs of the test in the order driven; those without a curve keep their place in the re-deals
 */
export function differenceOfCurves(
  curves: ChannelCurves,
  runs: readonly TrialRun[],
  {plan, level, seed}: DifferenceOptions,
): CurveDifference {
  const byRun = new Map(curves.runs.map(({run, values}) => [run, values]));
  const placed = runs.map(
    (run): TrialRun => ({...run, value: byRun.has(run.run) && run.value !== null ? 0 : null}),
  );
  const model = planModel(placed, plan);
  const counts = [0, 1].map(label => armOf(model).filter(value => value === label).length);
  const answer = (band: CurveBand | null, tooFew: string | null): CurveDifference => ({
    curves,
    band,
    tooFew,
    ranges: band ? differingRanges(curves, band) : [],
    model: model.words,
  });
  if (Math.min(...counts) < 2) {
    return answer(
      null,
      `${counts[0]} baseline and ${counts[1]} changed runs have this channel: with one run of an arm nothing can be said of how it differs from run to run`,
    );
  }
  const set = {
    curves: model.runs.map(({run}) => byRun.get(run)!),
    labels: armOf(model),
    terms: model.terms.slice(1, -1),
    places: model.runs.map(({run}) => runs.findIndex(other => other.run === run)),
  };
  const dealt = redeals(runs, plan, createRandom(seed, "redeal"));
  const band =
    dealt.deals && dealt.count >= LEAST_DEALS
      ? curveBand(set, {deals: withDriven(dealt.deals, dealt.complete, runs)}, {level})
      : curveBand(set, {random: createRandom(seed, `curve ${curves.channel}`)}, {level});
  return answer(band, band ? null : "too few runs are left for a spread between runs");
}

function armOf({terms}: Model): Float64Array {
  return Float64Array.from(terms[terms.length - 1].values);
}

/** A sample of deals has the one driven added (the add-one rule); a complete list has it already. */
function* withDriven(
  deals: Iterable<Int8Array>,
  complete: boolean,
  runs: readonly TrialRun[],
): Generator<Int8Array> {
  if (!complete) yield labelsOf(runs);
  yield* deals;
}
