import type {Plan} from "../../result/session.ts";
import {createRandom} from "../../stats/random.ts";
import {compareMeasures, type MeasureRuns, type MeasuresComparison} from "../../trial/measures.ts";
import {drawDeal} from "../../trial/plan.ts";
import {trialRuns} from "../coverage-days.ts";

/** A day with many channels, of which the part changes none. */
export interface ChannelsDay {
  /** values in spreads of a run */
  measures: MeasureRuns[];
  plan: Plan;
}

/** Size and seed of a survey in which nothing differs. */
export interface ChannelsOptions {
  channels: number;
  /** in two groups, a multiple of 2 from 6 on; default 12 */
  runs?: number;
  seed: number;
}

/** Names that an engine log could have. */
const NAMES = [
  "coolant temperature",
  "intake temperature",
  "boost pressure",
  "fuel trim, short",
  "fuel trim, long",
  "spark advance",
  "knock retard",
  "throttle angle",
  "air mass",
  "oil temperature",
  "oil pressure",
  "lambda",
  "injector time",
  "cam angle",
  "exhaust temperature",
  "battery voltage",
  "fuel pressure",
  "pedal position",
  "ambient pressure",
  "gearbox temperature",
];

/**
 * Runs of a part that changes nothing, with as many channels as are asked for, each normal and independent of the others.
 *
 * @throws {RangeError} no channel, or runs that cannot be dealt in two groups
 */
export function channelsOfNothing({channels, runs = 12, seed}: ChannelsOptions): ChannelsDay {
  if (!(Number.isInteger(channels) && channels >= 1)) {
    throw new RangeError(`channelsOfNothing: at least one channel is needed, but this is ${channels}`);
  }
  const random = createRandom(seed, "channels of nothing");
  const deal = drawDeal("complete", runs, random);
  const plan: Plan = {order: "complete", runs, seed: null, looks: 1, unit: "run", locked: null};
  const measures = Array.from(
    {length: channels},
    (_, i): MeasureRuns => ({
      name: NAMES[i] ?? `channel ${i + 1}`,
      runs: trialRuns(
        deal,
        "complete",
        Array.from({length: runs}, () => random.normal()),
      ),
    }),
  );
  return {measures, plan};
}

/**
 * How often such a day has a fluke: a channel with p below 0.05, by itself and adjusted for the number of channels.
 *
 * @param options as `channelsOfNothing`, and days, default 200; day i has the seed `seed` + i
 * @returns shares of days with at least one
 */
export function flukeShares({days = 200, ...options}: ChannelsOptions & {days?: number}): {
  alone: number;
  adjusted: number;
} {
  let [alone, adjusted] = [0, 0];
  for (let i = 0; i < days; i++) {
    const {measures} = comparedChannels({...options, seed: options.seed + i});
    if (measures.some(({p}) => p < 0.05)) alone++;
    if (measures.some(({adjustedP}) => adjustedP < 0.05)) adjusted++;
  }
  return {alone: alone / days, adjusted: adjusted / days};
}

/** Such a day, every channel compared. */
export function comparedChannels(options: ChannelsOptions): MeasuresComparison {
  const {measures, plan} = channelsOfNothing(options);
  return compareMeasures(measures, {plan, level: 0.95, seed: options.seed});
}
