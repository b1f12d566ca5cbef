import type {IntervalRecord} from "../result/documents.ts";
import type {Plan} from "../result/session.ts";
import {aliasedTerm, coefficientInterval, leastSquares, termIndex} from "../stats/least-squares.ts";
import {estimateEffect} from "../trial/effect.ts";
import {numberFittings} from "../trial/fittings.ts";
import type {TrialRun} from "../trial/model.ts";

/** Whether the first run after a change of part differs from the later ones, as it does where engine control has to learn. */
export interface CarryOver {
  /** first run after a change less later ones of the same fitting; null where the runs do not tell */
  estimate: number | null;
  interval: IntervalRecord | null;
  /** first runs and later runs that enter */
  first: number;
  later: number;
  outcome: "held" | "failed" | "not-checkable";
  words: string;
}

/** Fewer first or later runs than this do not tell. */
const LEAST_EACH = 2;

/**
 * First run after a change of part against later ones: one more term in the plan's model.
 *
 * Fails only where its interval is clear of zero and it is as large as the effect: else the words say how large it could be. The
 * first fitting of the day counts too: its first run follows a change as well, or a cold start.
 *
 * @param effect the part's effect in the unit of the values, or null
 * @param print  a value with its unit
 */
export function carryOver(
  runs: readonly TrialRun[],
  {
    plan,
    level,
    effect,
    print,
  }: {plan: Plan | null; level: number; effect: number | null; print(value: number): string},
): CarryOver {
  const fittings = numberFittings(runs);
  const isFirst = new Map(runs.map((run, i) => [run.run, i === 0 || fittings[i] !== fittings[i - 1]]));
  const {model, fit} = estimateEffect(runs, {plan: plan && {...plan, unit: "run"}, level});
  const first = model.runs.filter(({run}) => isFirst.get(run)).length;
  const later = model.runs.length - first;
  const cannot = (why: string): CarryOver => ({
    estimate: null,
    interval: null,
    first,
    later,
    outcome: "not-checkable",
    words: `whether the first run after a change differs from later ones cannot be told: ${why}`,
  });
  if (!fit || first < LEAST_EACH || later < LEAST_EACH) {
    return cannot(`${first} first and ${later} later runs; two runs a fitting would tell`);
  }
  const name = "first after a change";
  const terms = [...fit.terms, {name, values: model.runs.map(({run}) => (isFirst.get(run) ? 1 : 0))}];
  if (aliasedTerm(terms) !== null)
    return cannot("in this order it cannot be told from the terms of the plan");
  const least = leastSquares(
    model.runs.map(({value}) => value),
    terms,
  );
  const interval = coefficientInterval(least, name, {level});
  const estimate = least.coefficients[termIndex("carryOver", least, name)];
  if (!interval) return cannot("too few runs are left beside the terms of the plan");
  const isClear = interval.low > 0 || interval.high < 0;
  const failed = isClear && effect !== null && Math.abs(estimate) >= Math.abs(effect);
  const most = Math.max(Math.abs(interval.low), Math.abs(interval.high));
  return {
    estimate,
    interval,
    first,
    later,
    outcome: failed ? "failed" : "held",
    words: failed
      ? `the first run after a change differs from later ones by ${print(estimate)}, as much as the part: engine control was still learning, so settle it with two runs that do not count after each change`
      : `the first run after a change differs from later ones by ${print(estimate)}; it could be as much as ${print(most)}`,
  };
}
