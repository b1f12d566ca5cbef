import type {CheckRecord} from "../result/documents.ts";
import type {LoadedRun, TestDay} from "../run/day.ts";
import {median} from "../stats/quantile.ts";
import {boostCheck} from "./checks/boost.ts";
import type {Check, CheckContext} from "./checks/check.ts";
import {conditionChecks} from "./checks/conditions.ts";
import {distanceCheck} from "./checks/distance.ts";
import {droppedCheck} from "./checks/dropped.ts";
import {constantRatioCheck, noShiftCheck, sameGearCheck} from "./checks/gear.ts";
import {gearRatios} from "./checks/gear-ratio.ts";
import {gradeCheck} from "./checks/grade.ts";
import {liftCheck} from "./checks/lift.ts";
import {massCheck} from "./checks/mass.ts";
import {restCheck, sinceChangeCheck} from "./checks/minutes.ts";
import {paceOfDay} from "./checks/pace.ts";
import {headingCheck, placeCheck} from "./checks/place.ts";
import {planKeptCheck} from "./checks/plan-kept.ts";
import {precisionCheck} from "./checks/precision.ts";
import {passesCheck, recordingCheck} from "./checks/recording.ts";
import {runViews} from "./checks/run-view.ts";
import {slipCheck} from "./checks/slip.ts";
import {recorderCheck, sourceCheck} from "./checks/source.ts";
import {throttleCheck} from "./checks/throttle.ts";
import {type BandChange, bandCar, bandTimeChanges} from "./sensitivity.ts";

/** What is checked of every run by itself. A new check is a new line. */
const BY_RUN: readonly Check[] = [
  passesCheck,
  recordingCheck,
  throttleCheck,
  boostCheck,
  slipCheck,
  liftCheck,
  noShiftCheck,
  constantRatioCheck,
  distanceCheck,
];

/** What is checked of a day, beside what `trial` checks of its design. A new check is a new line. */
export const CHECKS: readonly Check[] = [
  ...BY_RUN,
  // between the arms
  sourceCheck,
  recorderCheck,
  sameGearCheck,
  placeCheck,
  headingCheck,
  massCheck,
  ...conditionChecks,
  restCheck,
  sinceChangeCheck,
  droppedCheck,
  planKeptCheck,
  // limits of published procedures
  gradeCheck,
  precisionCheck,
];

/**
 * Checks of the day itself, beside those of the design that `compare` makes. A check whose channel or note is
 * missing is "not checkable", never "held"; where speed alone has to tell, its words say so.
 *
 * @param used  runs that enter the comparison, each with a pass
 * @param which "by-run" leaves out what compares the arms
 */
export function fairnessChecks(
  day: TestDay,
  used: readonly LoadedRun[],
  which: "all" | "by-run" = "all",
): CheckRecord[] {
  const views = runViews(used);
  const {session} = day;
  const car = bandCar(session);
  const changes = bandTimeChanges(car, session.band, median(views.map(view => view.endS - view.startS)));
  const context: CheckContext = {
    day,
    used: views,
    pace: paceOfDay(views, session.band),
    engine: gearRatios(views, "engine-speed"),
    wheels: gearRatios(views, "vehicle-speed"),
    car,
    explain: (change: BandChange) => changes?.(change) ?? null,
  };
  return (which === "all" ? CHECKS : BY_RUN).map(({name, rule, threshold, source, judge}): CheckRecord => {
    const {outcome, words, explains} = judge(context);
    return {
      name,
      outcome,
      words,
      rule,
      ...(threshold !== undefined && {threshold}),
      ...(explains !== undefined && {explains: {value: explains, unit: "s"}}),
      ...(source !== undefined && {source}),
    };
  });
}
