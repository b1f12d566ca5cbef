import type {
  BesideRecord,
  CheckRecord,
  IntervalRecord,
  JudgeDocument,
  RobustnessRecord,
} from "../result/documents.ts";
import type {ArmName} from "../result/session.ts";
import {tInterval} from "../stats/interval.ts";
import {createRandom} from "../stats/random.ts";
import {mean, standardDeviation} from "../stats/summary.ts";
import {type VarianceComponent, varianceComponent} from "../stats/variance-component.ts";
import {type AnswerOptions, answer} from "./answer.ts";
import {besideIntervals} from "./beside.ts";
import type {Effect} from "./effect.ts";
import {type ArmFit, fitArm} from "./fit.ts";
import {numberFittings} from "./fittings.ts";
import {type Model, planModel, type TrialRun} from "./model.ts";
import {redealTest} from "./redeal-test.ts";
import {redeals} from "./redeals.ts";
import {robustness} from "./robustness.ts";

/** What a comparison needs to know beside the values. */
export interface CompareOptions extends AnswerOptions {
  seed: number;
}

/** One arm: its runs by themselves. `precision` = t·s/(√n·mean), the half-width of the 95 % interval of its mean as a share of it. */
export interface ArmSummary {
  n: number;
  mean: number | null;
  sd: number | null;
  precision: number | null;
}

/** The comparison of two arms; numbers in the unit of the values. */
export interface Comparison {
  arms: Record<ArmName, ArmSummary>;
  /**
   * the effect by the plan's model, with the look that this is; what `settleWords` plans from
   * @internal
   */
  effect: Effect;
  /** terms of the plan's model in words: "arm + linear drift by order" */
  model: string;
  /** changed − baseline, or null where an arm has no run */
  estimate: number | null;
  /** of the estimate, with `df` degrees of freedom; null where the runs are too few for a spread */
  standardError: number | null;
  df: number | null;
  /** spread of one run about the model */
  residualSd: number | null;
  /** at the level asked for; null where the runs are too few (`tooFew`) or do not differ at all (a failed check) */
  interval: IntervalRecord | null;
  /** at 2·level − 1 by the same method */
  equivalenceInterval: IntervalRecord | null;
  /** why the runs are too few for an interval, in words, or null */
  tooFew: string | null;
  /** studentised bootstrap on the residuals of the model, beside `interval` */
  check: IntervalRecord | null;
  /** every interval beside the main one, that check among them; empty where there is none */
  beside: BesideRecord[];
  /** two one-sided tests against ± worthwhile */
  equivalence: JudgeDocument["equivalence"];
  /** randomisation test over the re-deals of the plan */
  permutation: JudgeDocument["permutation"];
  /** how much it hangs on single runs; null where an arm has no run */
  robustness: RobustnessRecord | null;
  /** what of the design itself speaks for or against the comparison */
  checks: CheckRecord[];
  /** fitting number of each run in the order given */
  fittings: number[];
  /** spread between fittings beside the plan's terms; null where no fitting has two runs */
  fittingSpread: VarianceComponent | null;
}

/**
 * Compares the two arms of a test by the model that its plan names. Runs are the unit, or fittings where the plan says so; nothing here
 * knows what a value is or how it was measured. Interval and state are those of `answer`, which does without all that is printed beside.
 *
 * @param runs all runs in the order driven, excluded ones with `value: null`
 * @throws {RangeError} a value that is not finite, several looks without a number of runs
 */
export function compare(runs: readonly TrialRun[], options: CompareOptions): Comparison {
  const {plan, level, seed} = options;
  const {effect, equivalence, checks} = answer(runs, options);
  const {model, fit, interval, equivalenceInterval, tooFew} = effect;
  const runModel = planModel(runs, plan);
  const runFit = model.unit === "run" ? fit : fitArm(runModel);
  const fittings = numberFittings(runs);
  const base = {
    effect,
    model: model.words,
    estimate: fit?.estimate ?? null,
    standardError: fit?.standardError ?? null,
    df: fit?.df ?? null,
    residualSd: fit?.residualSd ?? null,
    interval,
    equivalenceInterval,
    tooFew,
    arms: {baseline: summarise(runModel, "baseline"), changed: summarise(runModel, "changed")},
    checks,
    equivalence,
    fittings,
    fittingSpread: runFit && spreadOfFittings(runs, fittings, {fit: runFit, model: runModel}),
  };
  const byRun = runFit && {fit: runFit, model: runModel};
  const single = byRun && robustness(runs, {...options, effect, byRun});
  if (!interval || !fit || !byRun) {
    return {...base, check: null, beside: [], permutation: null, robustness: single};
  }
  const dealt = redeals(runs, plan, createRandom(seed, "redeal"));
  const random = createRandom(seed, "bootstrap");
  const beside = besideIntervals(runs, {
    plan,
    level,
    effect: {...effect, fit, interval},
    byRun,
    dealt,
    random,
  });
  return {
    ...base,
    check: beside.find(({name}) => name === "studentised-bootstrap")!.interval,
    beside,
    permutation: dealt.deals && redealTest(runs, byRun, dealt),
    robustness: single,
  };
}

function spreadOfFittings(
  runs: readonly TrialRun[],
  fittings: readonly number[],
  {fit, model}: {fit: ArmFit; model: Model},
): VarianceComponent | null {
  const fittingOf = new Map(runs.map((run, i) => [run.run, fittings[i]]));
  return varianceComponent(
    model.runs.map(run => run.value),
    fit.terms,
    model.runs.map(run => fittingOf.get(run.run)!),
  );
}

function summarise({runs}: Model, arm: ArmName): ArmSummary {
  const values = runs.filter(run => run.arm === arm).map(run => run.value);
  if (values.length === 0) return {n: 0, mean: null, sd: null, precision: null};
  const middle = mean(values);
  const sd = standardDeviation(values);
  const standardError = sd === null ? 0 : sd / Math.sqrt(values.length);
  if (!standardError || middle === 0) return {n: values.length, mean: middle, sd, precision: null};
  const own = tInterval(middle, standardError, {df: values.length - 1, method: "t of one mean"});
  return {n: values.length, mean: middle, sd, precision: (own.high - own.low) / 2 / Math.abs(middle)};
}
