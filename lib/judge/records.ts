import type {JudgeDocument, LookRecord} from "../result/documents.ts";
import type {ArmName, Session} from "../result/session.ts";
import type {LoadedRun, TestDay} from "../run/day.ts";
import type {Comparison} from "../trial/compare.ts";
import {compareMeasures} from "../trial/measures.ts";
import type {TrialRun} from "../trial/model.ts";
import {MEASURES} from "./measures.ts";

/** One arm with its label. */
export function armRecord(
  session: Session,
  comparison: Comparison,
  arm: ArmName,
): JudgeDocument["arms"][ArmName] {
  return {label: session.arms[arm], ...comparison.arms[arm]};
}

/** Fittings of each part, and how much they differ where some have two runs. */
export function fittingsRecord(
  {fittings, fittingSpread}: Comparison,
  {day, print}: {day: TestDay; print: (value: number) => string},
): JudgeDocument["fittings"] {
  const of = (arm: ArmName) => new Set(fittings.filter((_, i) => day.runs[i].run.arm === arm)).size;
  const counts = {baseline: of("baseline"), changed: of("changed")};
  const total = counts.baseline + counts.changed;
  const shared =
    total < day.runs.length ? "; runs of one fitting share how well the part was put on that time" : "";
  const spread = fittingSpread && {
    between: fittingSpread.between,
    within: fittingSpread.within,
    df: fittingSpread.dfBetween,
  };
  const differ = spread
    ? `; fittings differ by ${print(spread.between)} and runs of one fitting by ${print(spread.within)} (standard deviations, by the method of moments with ${spread.df} ${spread.df === 1 ? "degree" : "degrees"} of freedom)`
    : "";
  return {
    ...counts,
    words: `${total} fittings of a part for ${day.runs.length} runs${shared}${differ}`,
    spread,
  };
}

/** Which look at the data this is. */
export function lookRecord({effect: {look}}: Comparison): LookRecord {
  return {
    kind: look.kind,
    look: look.look,
    runs: look.runs,
    planned_at: look.plannedAt,
    nominal_p: look.nominalP,
    false_alarm: look.falseAlarm,
  };
}

/**
 * Every measure but the primary one that both arms have, adjusted for their number.
 *
 * @param day    with its runs loaded
 * @param trial  the same as the comparison sees them, excluded ones with `value: null`
 */
export function exploratoryRecord(day: TestDay, trial: readonly TrialRun[]): JudgeDocument["exploratory"] {
  const {session, runs} = day;
  const others = MEASURES.filter(measure => measure.name !== session.primary && measure.isOffered(session));
  const {measures, method} = compareMeasures(
    others.map(({name, value}) => ({
      name,
      runs: trial.map((run, i) => ({
        ...run,
        value: run.value === null ? null : (value(runs[i], day)?.value ?? null),
      })),
    })),
    session,
  );
  return {
    method,
    measures: measures.map(({name, estimate, interval, p, adjustedP}) => ({
      measure: name,
      unit: others.find(measure => measure.name === name)!.unit,
      estimate,
      interval,
      p,
      adjusted_p: adjustedP,
    })),
  };
}

/** A run that does not enter, with its reason. */
export function excludedRecord(run: LoadedRun, problem: string | null): JudgeDocument["excluded"] {
  const {exclude, excludedBefore, arm, file} = run.run;
  if (exclude !== null)
    return [{run: run.run.run, file, arm, reason: exclude, excluded_before: excludedBefore}];
  return [{run: run.run.run, file, arm, reason: problem ?? "no pass", excluded_before: null}];
}
