import type {IntervalRecord} from "../result/documents.ts";
import {lagOneAutocorrelation} from "../stats/autocorrelation.ts";
import {aliasedTerm, coefficientInterval, leastSquares} from "../stats/least-squares.ts";
import type {Term} from "../stats/qr.ts";
import type {TrialRun, UsedRun} from "./model.ts";

/** How the runs of a day change through the afternoon, the part taken out; numbers in the unit of the values. */
export interface Drift {
  /** change from one run to the next */
  perRun: number;
  interval: IntervalRecord | null;
  /** runs behind it */
  runs: number;
  /** spread of one run about arm and drift */
  residualSd: number | null;
  /** correlation of one run with the next about arm and drift, or null */
  lagOne: number | null;
  /** what all runs of one arm before all of the other would have added to the effect: half of the runs times `perRun` */
  changeoverBias: number;
}

/**
 * Linear drift by place in the order driven, beside the arm and, where both were driven, the direction: least squares.
 *
 * @param runs all runs in the order driven, those that do not count with `value: null`; they keep their place
 * @returns null where the runs are too few or the drift cannot be told from the part
 */
export function driftOf(runs: readonly TrialRun[], {level}: {level: number}): Drift | null {
  const used = runs.flatMap((run, place): (UsedRun & {place: number})[] =>
    run.value === null ? [] : [{...run, value: run.value, place}],
  );
  const middle = used.reduce((sum, run) => sum + run.place, 0) / used.length;
  const column = (name: string, value: (run: (typeof used)[number]) => number): Term => ({
    name,
    values: used.map(value),
  });
  const both = used.every(run => run.direction !== null) && new Set(used.map(run => run.direction)).size > 1;
  const terms = [
    column("mean", () => 1),
    ...(new Set(used.map(run => run.arm)).size > 1
      ? [column("arm", run => (run.arm === "changed" ? 1 : 0))]
      : []),
    ...(both ? [column("direction", run => (run.direction === "back" ? 1 : 0))] : []),
    column("drift", run => run.place - middle),
  ];
  if (used.length <= terms.length || aliasedTerm(terms) !== null) return null;
  const fit = leastSquares(
    used.map(run => run.value),
    terms,
  );
  const perRun = fit.coefficients[terms.length - 1];
  return {
    perRun,
    interval: coefficientInterval(fit, "drift", {level}),
    runs: used.length,
    residualSd: fit.residualSd,
    lagOne: lagOneAutocorrelation(fit.residuals),
    changeoverBias: (perRun * runs.length) / 2,
  };
}
