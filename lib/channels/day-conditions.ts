import {InputError} from "../result/error.ts";
import type {Conditions, Plan} from "../result/session.ts";
import type {LoadedRun} from "../run/day.ts";
import type {TrialRun} from "../trial/model.ts";
import {type Condition, type MatchedCondition, matchedCondition} from "./conditions.ts";
import {runMeans} from "./run-means.ts";

/** What both arms should have had alike: temperatures at band entry, what the driver and the car did within the band. */
const CHANNELS: readonly {channel: string; at: "start" | "band"; noted?: keyof Conditions}[] = [
  {channel: "intake-temperature", at: "start", noted: "intakeTemperatureK"},
  {channel: "coolant-temperature", at: "start", noted: "coolantK"},
  {channel: "oil-temperature", at: "start"},
  {channel: "air-temperature", at: "start", noted: "airTemperatureK"},
  {channel: "air-pressure", at: "start"},
  {channel: "manifold-pressure", at: "band"},
  {channel: "engine-load", at: "band"},
  {channel: "throttle", at: "band"},
  {channel: "battery-voltage", at: "band"},
];

/**
 * Conditions of a day, each compared between the arms: those that were logged, or noted in the session where no log has them, and the place in the
 * order. The channel asked about is none of its own conditions.
 *
 * @param runs   with the engine's channels, in the order driven
 * @param trials the same runs with the mean of the channel asked about
 */
export function dayConditions(
  runs: readonly LoadedRun[],
  trials: readonly TrialRun[],
  {primary, plan, level}: {primary: string; plan: Plan | null; level: number},
): MatchedCondition[] {
  const logged = CHANNELS.filter(({channel}) => channel !== primary).flatMap(entry => {
    const condition = conditionOf(runs, entry);
    return condition.values.some(value => value !== null) ? [condition] : [];
  });
  const matched = logged.map(condition => matchedCondition(condition, trials, {plan, level}));
  const place: Condition = {name: "place in the order", unit: null, values: trials.map(({run}) => run)};
  // the drift of a plan is this very line, so places are compared as two groups
  const ordered = matchedCondition(place, trials, {
    plan: plan && {...plan, order: "complete", unit: "run"},
    level,
  });
  return [...matched, {...ordered, slope: null, slopeInterval: null, explains: null, explainsInterval: null}];
}

function conditionOf(runs: readonly LoadedRun[], {channel, at, noted}: (typeof CHANNELS)[number]): Condition {
  const found = loggedMeans(runs, channel, at);
  if (found?.values.some(value => value !== null))
    return {
      name: `${channel}${at === "start" ? " at band entry" : ""}`,
      unit: found.unit,
      values: found.values,
    };
  return {
    name: `${channel} as noted`,
    unit: "K",
    values: noted ? runs.map(({run}) => run.conditions[noted]) : runs.map(() => null),
  };
}

function loggedMeans(runs: readonly LoadedRun[], channel: string, at: "start" | "band") {
  try {
    return runMeans(runs, channel, {at});
  } catch (error) {
    if (error instanceof InputError) return null; // several columns may be it: none is taken
    throw error;
  }
}
