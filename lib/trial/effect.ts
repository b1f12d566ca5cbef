import type {IntervalRecord} from "../result/documents.ts";
import type {ArmName, Plan} from "../result/session.ts";
import {tInterval} from "../stats/interval.ts";
import {standardDeviation} from "../stats/summary.ts";
import {type ArmFit, fitArm} from "./fit.ts";
import {type Model, planModel, type TrialRun} from "./model.ts";

/** Fewer usable runs an arm than this: no interval. */
export const MIN_RUNS_PER_ARM = 3;
/** Fewer residual degrees of freedom: no interval; t(0.975, 2) is 4.3 and the spread itself could not be checked. */
export const MIN_RESIDUAL_DF = 3;
/** A spread smaller than this share of the values is no spread: no road test repeats to nine digits. */
const NO_SPREAD = 1e-9;

/** The effect of the arm with its interval; numbers in the unit of the values. */
export interface Effect {
  model: Model;
  /** null where an arm has no run */
  fit: ArmFit | null;
  /** interval at the level asked for, or null with the reason in `tooFew` or `noSpread` */
  interval: IntervalRecord | null;
  /** why the runs are too few for an interval, in words, or null */
  tooFew: string | null;
  /** all runs agree to nine digits: an interval of zero width would claim certainty */
  noSpread: boolean;
}

/**
 * Effect of the arm by the model that the plan names, with Student's t interval (Welch's where the model is two
 * means). Coverage at 3 to 12 runs an arm is measured by `npm run calibrate`.
 *
 * @param runs all runs in the order driven, excluded ones with `value: null`
 */
export function estimateEffect(
  runs: readonly TrialRun[],
  {plan, level}: {plan: Plan | null; level: number},
): Effect {
  const model = planModel(runs, plan);
  const fit = fitArm(model);
  const tooFew = tooFewWords(model, fit);
  const noSpread = !tooFew && hasNoSpread(model);
  if (tooFew || noSpread || !fit || fit.standardError === null || fit.df === null) {
    return {model, fit, interval: null, tooFew, noSpread};
  }
  const interval = tInterval(fit.estimate, fit.standardError, {df: fit.df, level, method: fit.method});
  return {model, fit, interval, tooFew, noSpread};
}

function tooFewWords(model: Model, fit: ArmFit | null): string | null {
  for (const arm of ["baseline", "changed"] satisfies ArmName[]) {
    const n = model.runs.filter(run => run.arm === arm).length;
    if (n < MIN_RUNS_PER_ARM)
      return `the ${arm} arm has ${n} usable ${n === 1 ? "run" : "runs"}, ${MIN_RUNS_PER_ARM} are needed`;
  }
  if (fit && fit.residualDf < MIN_RESIDUAL_DF) {
    return `${model.runs.length} runs leave ${fit.residualDf} degrees of freedom beside the terms of the plan (${model.words}), ${MIN_RESIDUAL_DF} are needed`;
  }
  return null;
}

function hasNoSpread({runs}: Model): boolean {
  return (["baseline", "changed"] satisfies ArmName[]).every(arm => {
    const values = runs.filter(run => run.arm === arm).map(run => run.value);
    const size = Math.max(...values.map(Math.abs));
    return (standardDeviation(values) ?? 0) <= NO_SPREAD * size;
  });
}
