import {numberFittings} from "./fittings.ts";
import type {Model, TrialRun, UsedRun} from "./model.ts";

/**
 * The plan's model with fittings as its observations: values and terms are averaged over the runs of each fitting (runs between two
 * changes of part), every fitting weighs the same.
 *
 * Right where putting the part on goes a little differently each time: what runs of one fitting share is then counted once. Fittings of
 * different size have means of somewhat different spread, which the equal weights leave out of account.
 *
 * @param runs  all runs in the order driven, excluded ones too
 * @param model the plan's model by run
 */
export function fittingModel(runs: readonly TrialRun[], model: Model): Model {
  const numbers = numberFittings(runs);
  const fittingOf = new Map(runs.map((run, i) => [run.run, numbers[i]]));
  const members = new Map<number, number[]>();
  model.runs.forEach((run, i) => {
    const fitting = fittingOf.get(run.run)!;
    members.set(fitting, [...(members.get(fitting) ?? []), i]);
  });
  const groups = [...members.values()];
  const averaged = (values: ArrayLike<number>) =>
    Float64Array.from(groups, group => group.reduce((sum, i) => sum + values[i], 0) / group.length);
  const values = averaged(model.runs.map(run => run.value));
  return {
    kind: model.kind,
    unit: "fitting",
    runs: groups.map(([first], g): UsedRun => ({...model.runs[first], value: values[g]})),
    words: model.words,
    terms: model.terms.map(({name, values: column}) => ({name, values: averaged(column)})),
  };
}
