import type {IntervalRecord} from "../result/documents.ts";
import type {Plan} from "../result/session.ts";
import {aliasedTerm, coefficientInterval, leastSquares, termIndex} from "../stats/least-squares.ts";
import {estimateEffect} from "../trial/effect.ts";
import type {TrialRun} from "../trial/model.ts";

/** A condition of each run in the order driven; null where it is not known. */
export interface Condition {
  name: string;
  unit: string | null;
  values: readonly (number | null)[];
}

/** What a condition did while the part changed. */
export interface MatchedCondition {
  name: string;
  unit: string | null;
  /** changed − baseline by the plan's model, with its interval; null where the runs are too few or all alike */
  difference: number | null;
  interval: IntervalRecord | null;
  /** change of the measure for one unit of the condition, measured within arms; null where the runs do not tell */
  slope: number | null;
  slopeInterval: IntervalRecord | null;
  /** slope times difference: how much of the effect the condition would explain, in the unit of the measure */
  explains: number | null;
  /** that with the uncertainty of both: slope and difference each at the ends of its interval add in quadrature */
  explainsInterval: IntervalRecord | null;
  /** false = the arms were not under the same conditions: the interval of the difference is clear of zero */
  matched: boolean | null;
}

/** Fewer residual degrees of freedom than this do not measure a slope. */
const LEAST_DF = 4;

/**
 * Whether a condition (intake air, coolant, battery voltage, …) was the same for both arms, and what the difference
 * would explain of the effect.
 *
 * The slope is that of the plan's model with the condition as one more term: how the measure moves with the condition among runs of one arm. A
 * condition that the part itself moves is no condition but an outcome; the tool cannot tell which it is.
 *
 * @param runs all runs in the order driven, with the values of the measure
 */
export function matchedCondition(
  condition: Condition,
  runs: readonly TrialRun[],
  {plan, level}: {plan: Plan | null; level: number},
): MatchedCondition {
  const {name, unit, values} = condition;
  const asMeasure = runs.map(
    (run, i): TrialRun => ({...run, value: run.value === null ? null : values[i], excludedValue: null}),
  );
  const {fit, interval} = estimateEffect(asMeasure, {plan, level});
  const difference = fit?.estimate ?? null;
  const told = slopeWithinArms(runs, values, {plan, level});
  return {
    name,
    unit,
    difference,
    interval,
    slope: told?.slope ?? null,
    slopeInterval: told?.interval ?? null,
    explains: told && difference !== null ? told.slope * difference : null,
    explainsInterval: told && difference !== null && interval ? product(told, {difference, interval}) : null,
    matched: interval ? interval.low <= 0 && interval.high >= 0 : null,
  };
}

/** Product of slope and difference; half widths add in quadrature, each weighted with the other factor. */
function product(
  told: {slope: number; interval: IntervalRecord},
  of: {difference: number; interval: IntervalRecord},
): IntervalRecord {
  const half = Math.hypot(
    (of.difference * (told.interval.high - told.interval.low)) / 2,
    (told.slope * (of.interval.high - of.interval.low)) / 2,
  );
  const middle = told.slope * of.difference;
  return {
    low: middle - half,
    high: middle + half,
    level: of.interval.level,
    method: "slope times difference, half widths in quadrature",
  };
}

function slopeWithinArms(
  runs: readonly TrialRun[],
  values: readonly (number | null)[],
  {plan, level}: {plan: Plan | null; level: number},
): {slope: number; interval: IntervalRecord} | null {
  const both = runs.map((run, i): TrialRun => (values[i] === null ? {...run, value: null} : run));
  const {model, fit} = estimateEffect(both, {plan, level});
  if (!fit || model.unit !== "run") return null;
  const byRun = new Map(runs.map((run, i) => [run.run, values[i]]));
  const own = model.runs.map(({run}) => byRun.get(run)!);
  const mean = own.reduce((sum, value) => sum + value, 0) / own.length;
  const terms = [...fit.terms, {name: "condition", values: own.map(value => value - mean)}];
  if (model.runs.length - terms.length < LEAST_DF) return null;
  if (aliasedTerm(terms) !== null) return null; // the condition cannot be told from the terms of the plan
  const least = leastSquares(
    model.runs.map(({value}) => value),
    terms,
  );
  const interval = coefficientInterval(least, "condition", {level});
  return interval && {slope: least.coefficients[termIndex("matchedCondition", least, "condition")], interval};
}
