import type {IntervalRecord, RobustnessRecord} from "../result/documents.ts";
import type {Plan} from "../result/session.ts";
import {studentTTwoSided} from "../stats/distributions.ts";
import {hodgesLehmannCentre, hodgesLehmannShift, type RankEstimate} from "../stats/hodges-lehmann.ts";
import type {AnswerOptions} from "./answer.ts";
import {decide} from "./decide.ts";
import {type Effect, effectOf} from "./effect.ts";
import type {ArmFit} from "./fit.ts";
import {fittingModel} from "./fitting-model.ts";
import {type Model, pairsOf, planModel, type TrialRun, type UsedRun} from "./model.ts";

/** A run is flagged where chance alone puts any run of the day this far from the rest once in 20 days. */
export const OUTLIER_P = 0.05;
/** An observation with a leverage this close to 1 fits itself and cannot stand out. */
const FITS_ITSELF = 1e-9;

/**
 * How much the answer hangs on single runs: the estimate without each run, an estimate by ranks, runs that stand out, and the answer with the
 * excluded runs put back. Nothing is dropped by it. Without an interval only the last can be told.
 *
 * @param runs   all runs in the order driven; excluded ones with `excludedValue` where they have one
 * @param effect the main effect
 * @param byRun  the plan's model by run with its fit
 */
export function robustness(
  runs: readonly TrialRun[],
  {effect, byRun, ...options}: AnswerOptions & {effect: Effect; byRun: {fit: ArmFit; model: Model}},
): RobustnessRecord {
  const again = (changed: readonly TrialRun[]) => {
    const {fit, interval, equivalenceInterval, tooFew} = refit(changed, options.plan, {
      level: options.level,
      look: effect.look,
    });
    const estimate = fit?.estimate ?? null;
    const {better = "neither", worthwhile} = options;
    const {state} = decide({tooFew, estimate, interval, equivalenceInterval, worthwhile, better, checks: []});
    return {estimate, interval, state};
  };
  const hasInterval = effect.interval !== null;
  const backIn = runs.filter(run => run.value === null && isNumber(run.excludedValue));
  return {
    influence: (hasInterval ? byRun.model.runs : []).map(({run}) => {
      const {estimate, state} = again(
        runs.map(other => (other.run === run ? {...other, value: null} : other)),
      );
      return {run, estimate, state};
    }),
    hodges_lehmann: hasInterval ? byRanks(runs, byRun, options.level) : null,
    outliers: hasInterval ? outliers(byRun) : [],
    outlier_rule: `flagged where the deviation from the model fitted without the run is beyond t at ${OUTLIER_P} divided by the number of runs; never dropped by it`,
    put_back:
      backIn.length === 0
        ? null
        : {
            runs: backIn.map(({run}) => run),
            ...again(runs.map(run => (backIn.includes(run) ? {...run, value: run.excludedValue!} : run))),
          },
  };
}

function refit(
  runs: readonly TrialRun[],
  plan: Plan | null,
  options: {level: number; look: Effect["look"]},
): Effect {
  const model = planModel(runs, plan);
  return effectOf(plan?.unit === "fitting" ? fittingModel(runs, model) : model, options);
}

/**
 * Hodges–Lehmann within the design: the centre of the pair differences, or the shift between arms of the values less what drift and direction
 * explain in the main model.
 */
function byRanks(
  runs: readonly TrialRun[],
  {fit, model}: {fit: ArmFit; model: Model},
  level: number,
): RobustnessRecord["hodges_lehmann"] {
  const pairs = pairsOf(runs, model);
  const isNuisance = (name: string) => name === "drift" || name === "direction";
  const adjusted = new Map(model.runs.map((run, i) => [run.run, run.value - nuisance(i)]));
  const of = (group: readonly UsedRun[]) => group.map(run => adjusted.get(run.run)!);
  const arm = (name: string) => of(model.runs.filter(run => run.arm === name));
  const found: RankEstimate = pairs
    ? hodgesLehmannCentre(
        pairs.map(([baseline, changed]) => middle(of(changed)) - middle(of(baseline))),
        {level},
      )
    : hodgesLehmannShift(arm("baseline"), arm("changed"), {level});
  const others = fit.terms.map(term => term.name).filter(isNuisance);
  const method = `Hodges–Lehmann, ${pairs ? "pair differences" : "all differences of a changed and a baseline run"}${others.length ? `, ${others.join(" and ")} of the model taken out` : ""}`;
  return {
    estimate: found.estimate,
    interval: found.interval && intervalOf(found.interval),
    method,
  };

  function nuisance(i: number): number {
    return fit.terms.reduce(
      (sum, term, j) =>
        isNuisance(term.name) ? sum + fit.leastSquares.coefficients[j] * term.values[i] : sum,
      0,
    );
  }
}

/**
 * Runs whose deviation from the model fitted without them is too large for chance: externally studentised residuals against t, divided among
 * the runs (R. D. Cook and S. Weisberg, Residuals and Influence in Regression, 1982, §2.2.2; from memory). The two runs of a
 * pair stand out together.
 */
function outliers({fit, model}: {fit: ArmFit; model: Model}): RobustnessRecord["outliers"] {
  const {residuals, leverages, df} = fit.leastSquares;
  if (df < 2) return [];
  const squares = residuals.reduce((sum, residual) => sum + residual * residual, 0);
  return model.runs.flatMap(({run}, i) => {
    const free = 1 - leverages[i];
    if (free <= FITS_ITSELF) return [];
    const own = residuals[i] ** 2 / free;
    const rest = Math.max(squares - own, Number.EPSILON * squares) / (df - 1);
    if (rest === 0) return [];
    const t = residuals[i] / Math.sqrt(rest * free);
    const p = Math.min(1, model.runs.length * studentTTwoSided(t, df - 1));
    return p < OUTLIER_P ? [{run, t, p}] : [];
  });
}

function intervalOf({low, high, level, method}: IntervalRecord): IntervalRecord {
  return {low, high, level, method};
}

function middle(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}

function isNumber(value: number | null | undefined): value is number {
  return value !== null && value !== undefined;
}
