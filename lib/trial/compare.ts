import type {CheckRecord, IntervalRecord, JudgeDocument} from "../result/documents.ts";
import type {ArmName} from "../result/session.ts";
import {bootstrapCoefficient} from "../stats/bootstrap-residuals.ts";
import {tInterval} from "../stats/interval.ts";
import {createRandom} from "../stats/random.ts";
import {mean, standardDeviation} from "../stats/summary.ts";
import {type AnswerOptions, answer} from "./answer.ts";
import type {Effect} from "./effect.ts";
import {numberFittings} from "./fittings.ts";
import type {TrialRun} from "./model.ts";
import {redealTest} from "./redeal-test.ts";
import {redeals} from "./redeals.ts";

/** Resamples of the check interval: its ends move by about 1 % of their distance with the seed. */
const N_RESAMPLES = 9_999;

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
  /** why the runs are too few for an interval, in words, or null */
  tooFew: string | null;
  /** studentised bootstrap on the residuals of the model, beside `interval` */
  check: IntervalRecord | null;
  /** two one-sided tests against ± worthwhile */
  equivalence: JudgeDocument["equivalence"];
  /** randomisation test over the re-deals of the plan */
  permutation: JudgeDocument["permutation"];
  /** what of the design itself speaks for or against the comparison */
  checks: CheckRecord[];
  /** fitting number of each run in the order given */
  fittings: number[];
}

/**
 * Compares the two arms of a test by the model that its plan names. Runs are the unit; nothing here knows what a
 * value is or how it was measured.
 *
 * @param runs all runs in the order driven, excluded ones with `value: null`
 * @throws {RangeError} a value that is not finite
 */
export function compare(runs: readonly TrialRun[], options: CompareOptions): Comparison {
  const {plan, level, seed} = options;
  const {effect, equivalence, checks} = answer(runs, options);
  const {model, fit, interval} = effect;
  const dealt = redeals(runs, plan, createRandom(seed, "redeal"));
  const base = {
    model: model.words,
    estimate: fit?.estimate ?? null,
    standardError: fit?.standardError ?? null,
    df: fit?.df ?? null,
    residualSd: fit?.residualSd ?? null,
    interval,
    tooFew: effect.tooFew,
    arms: {baseline: summarise(effect, "baseline"), changed: summarise(effect, "changed")},
    checks,
    fittings: numberFittings(runs),
  };
  if (!interval || !fit || fit.standardError === null || fit.df === null) {
    return {...base, check: null, equivalence: null, permutation: null};
  }
  const random = createRandom(seed, "bootstrap");
  const boot = bootstrapCoefficient(fit.leastSquares, "arm", {level, nResamples: N_RESAMPLES, random});
  return {
    ...base,
    check: boot.interval && {
      low: boot.interval.low,
      high: boot.interval.high,
      level,
      method: `studentised bootstrap of residuals, ${N_RESAMPLES} resamples`,
    },
    equivalence,
    permutation: dealt.deals && redealTest(runs, fit.terms, model, dealt),
  };
}

function summarise({model}: Effect, arm: ArmName): ArmSummary {
  const values = model.runs.filter(run => run.arm === arm).map(run => run.value);
  if (values.length === 0) return {n: 0, mean: null, sd: null, precision: null};
  const middle = mean(values);
  const sd = standardDeviation(values);
  const standardError = sd === null ? 0 : sd / Math.sqrt(values.length);
  if (!standardError || middle === 0) return {n: values.length, mean: middle, sd, precision: null};
  const own = tInterval(middle, standardError, {df: values.length - 1, method: "t of one mean"});
  return {n: values.length, mean: middle, sd, precision: (own.high - own.low) / 2 / Math.abs(middle)};
}
