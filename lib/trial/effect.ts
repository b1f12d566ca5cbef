import type {IntervalRecord} from "../result/documents.ts";
import type {ArmName, Plan} from "../result/session.ts";
import {tInterval} from "../stats/interval.ts";
import {standardDeviation} from "../stats/summary.ts";
import {type ArmFit, fitArm} from "./fit.ts";
import {fittingModel} from "./fitting-model.ts";
import {type Look, lookOf} from "./looks.ts";
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
  /** which look at the data this is; its nominal p is that of `interval` */
  look: Look;
  /** interval at the level asked for, or null with the reason in `tooFew` or `noSpread` */
  interval: IntervalRecord | null;
  /** interval at 2·level − 1 by the same method; null as `interval` */
  equivalenceInterval: IntervalRecord | null;
  /** why the runs are too few for an interval, in words, or null */
  tooFew: string | null;
  /** all runs agree to nine digits, or the model fits them so: an interval of zero width would claim certainty */
  noSpread: boolean;
}

/**
 * Effect of the arm by the model that the plan names, with Student's t interval (Welch's where the model is two
 * means), on runs or, where the plan says so, on the means of fittings. Coverage at 3 to 12 runs an arm is measured by `npm run calibrate`.
 *
 * At a look of a sequence it is the repeated interval: t at the nominal p of that look, so that all looks together cover `level`
 * (C. Jennison and B. W. Turnbull, J. R. Stat. Soc. B 51 (1989) 305; from memory).
 *
 * @param runs all runs in the order driven, excluded ones with `value: null`
 * @throws {RangeError} a value that is not finite, several looks without a number of runs
 */
export function estimateEffect(
  runs: readonly TrialRun[],
  {plan, level}: {plan: Plan | null; level: number},
): Effect {
  for (const {run, value} of runs) {
    if (value !== null && !Number.isFinite(value)) {
      throw new RangeError(`estimateEffect: the value of run ${run} is ${value}, not a finite number`);
    }
  }
  const byRun = planModel(runs, plan);
  const look = lookOf(
    {placed: runs.length, used: runs.filter(run => run.value !== null).length},
    {plan, level},
  );
  return effectOf(plan?.unit === "fitting" ? fittingModel(runs, byRun) : byRun, {level, look});
}

/** The effect of the arm in a model. */
export function effectOf(model: Model, {level, look}: {level: number; look: Look}): Effect {
  const fit = fitArm(model);
  const tooFew = tooFewWords(model, fit);
  const noSpread = !tooFew && hasNoSpread(model, fit);
  const base = {model, fit, look, tooFew, noSpread};
  if (tooFew || noSpread || !fit?.standardError || fit.df === null) {
    return {...base, interval: null, equivalenceInterval: null};
  }
  const {estimate, standardError, df} = fit;
  const at = (nominalP: number, nominalLevel: number): IntervalRecord => {
    const {low, high} = tInterval(estimate, standardError, {df, level: 1 - nominalP, method: fit.method});
    const method = isSingle(look) ? fit.method : `${fit.method}, repeated: ${lookWords(look)}`;
    return {low, high, level: nominalLevel, method};
  };
  const equivalenceLevel = 1 - 2 * (1 - level);
  return {
    ...base,
    interval: at(look.nominalP, level),
    equivalenceInterval: equivalenceLevel > 0 ? at(look.nominalPEquivalence, equivalenceLevel) : null,
  };
}

/** Whether the look spends the whole chance of a false alarm at once, as a plan of one look does. */
export function isSingle({kind, plannedAt}: Look): boolean {
  return kind !== "grown" && plannedAt.length <= 1;
}

/** "look 2 of 3, nominal p 0.0147" */
export function lookWords({look, plannedAt, kind, nominalP}: Look): string {
  const p = `nominal p ${Number(nominalP.toPrecision(3))}`;
  if (kind === "grown") return `a look after more runs than planned, ${p}`;
  if (kind === "between") return `a look that the plan does not name, ${p}`;
  return `look ${look} of ${plannedAt.length}, ${p}`;
}

function tooFewWords(model: Model, fit: ArmFit | null): string | null {
  for (const arm of ["baseline", "changed"] satisfies ArmName[]) {
    const n = model.runs.filter(run => run.arm === arm).length;
    if (n < MIN_RUNS_PER_ARM)
      return `the ${arm} arm has ${n} usable ${n === 1 ? model.unit : `${model.unit}s`}, ${MIN_RUNS_PER_ARM} are needed`;
  }
  if (fit && fit.residualDf < MIN_RESIDUAL_DF) {
    return `${model.runs.length} ${model.unit}s leave ${fit.residualDf} degrees of freedom beside the terms of the plan (${model.words}), ${MIN_RESIDUAL_DF} are needed`;
  }
  return null;
}

function hasNoSpread({runs}: Model, fit: ArmFit | null): boolean {
  const size = Math.max(...runs.map(run => Math.abs(run.value)));
  const alike = (["baseline", "changed"] satisfies ArmName[]).every(arm => {
    const values = runs.filter(run => run.arm === arm).map(run => run.value);
    return (standardDeviation(values) ?? 0) <= NO_SPREAD * size;
  });
  return alike || (fit?.residualSd ?? 0) <= NO_SPREAD * size;
}
