import {aliasedTerm, type LeastSquaresFit, leastSquares} from "../stats/least-squares.ts";
import type {Term} from "../stats/qr.ts";
import {welchDifference} from "../stats/two-sample.ts";
import type {Model} from "./model.ts";

/** The effect of the arm in a model, in the unit of the values. */
export interface ArmFit {
  /** changed − baseline */
  estimate: number;
  /** null where the runs are too few for a spread */
  standardError: number | null;
  df: number | null;
  /** runs − fitted terms */
  residualDf: number;
  /** spread of one run about the model, null without residual degrees of freedom */
  residualSd: number | null;
  method: string;
  /** terms that were fitted, mean first and arm last */
  terms: Term[];
  /** their least-squares fit */
  leastSquares: LeastSquaresFit;
  /** term that cannot be told from the arm, or null */
  confounded: string | null;
}

/**
 * Fits a plan's model. Two means alone are compared by Welch's t, everything else by least squares.
 * Terms that these runs cannot tell from each other are left out; a term that they cannot tell from the arm is named.
 *
 * @returns null when an arm has no run
 */
export function fitArm(model: Model): ArmFit | null {
  const {runs} = model;
  const values = runs.map(run => run.value);
  const baseline = runs.filter(run => run.arm === "baseline").map(run => run.value);
  const changed = runs.filter(run => run.arm === "changed").map(run => run.value);
  if (!baseline.length || !changed.length) return null;
  const {terms, confounded} = separable(model.terms);
  const residualDf = runs.length - terms.length;
  const of = model.unit === "fitting" ? " on the means of fittings" : "";
  const fit = leastSquares(values, terms);
  if (terms.length === 2) {
    const {estimate, standardError, df} = welchDifference(baseline, changed);
    const residualSd = fit.residualSd;
    return {
      estimate,
      standardError,
      df,
      residualDf,
      residualSd,
      method: `Welch's t${of}`,
      terms,
      leastSquares: fit,
      confounded,
    };
  }
  const arm = terms.length - 1;
  return {
    estimate: fit.coefficients[arm],
    standardError: fit.standardErrors?.[arm] ?? null,
    df: residualDf > 0 ? residualDf : null,
    residualDf,
    residualSd: fit.residualSd,
    method: `t of ${model.words}${of}`,
    terms,
    leastSquares: fit,
    confounded,
  };
}

/** Terms that the runs can tell apart; the arm is kept and what cannot be told from it is named and left out. */
function separable(terms: readonly Term[]): {terms: Term[]; confounded: string | null} {
  const kept: Term[] = [];
  for (const term of terms.slice(0, -1)) if (aliasedTerm([...kept, term]) === null) kept.push(term);
  const arm = terms[terms.length - 1];
  if (aliasedTerm([...kept, arm]) === null) return {terms: [...kept, arm], confounded: null};
  // Some kept term, or a sum of them, is the arm: leave out from the last until the arm stands by itself.
  const left: string[] = [];
  while (aliasedTerm([...kept, arm]) !== null) left.push(kept.pop()!.name);
  return {terms: [...kept, arm], confounded: left.reverse().join(", ")};
}
