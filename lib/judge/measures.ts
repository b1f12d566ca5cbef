import type {Session} from "../result/session.ts";
import type {LoadedRun, TestDay} from "../run/day.ts";
import type {Better} from "../trial/verdict.ts";
import {correctionLacks, correctionOf} from "./correction.ts";

/** A quantity that two arms can be compared in. */
export interface Measure {
  /** name in the session file */
  name: string;
  /** with article, for sentences */
  words: string;
  /** SI unit of `value` */
  unit: string;
  better: Better;
  /** digits after the point when printed with the unit */
  digits: number;
  /**
   * value of one run of a day with its standard uncertainty, or null where the run has none
   * @throws {InputError} 2: the session does not state what the measure needs
   */
  value(run: LoadedRun, day: TestDay): {value: number; uncertainty: number} | null;
  /** why a run with a pass has no value, in words, or null */
  problem(run: LoadedRun, day: TestDay): string | null;
  /** whether a session states what the measure needs */
  isOffered(session: Session): boolean;
}

/** The measures that a session's `primary` can name. */
export const MEASURES: readonly Measure[] = [
  {
    name: "band-time",
    words: "the time through the band",
    unit: "s",
    better: "lower",
    digits: 3,
    value: ({pass}) => (pass ? {value: pass.elapsedS, uncertainty: pass.elapsedUS} : null),
    problem: () => null,
    isOffered: () => true,
  },
  {
    name: "corrected-band-time",
    words: "the time through the band in reference conditions",
    unit: "s",
    better: "lower",
    digits: 3,
    value: (run, day) => {
      const corrected = correctionOf(day).runs[day.runs.indexOf(run)];
      return corrected && {value: corrected.correctedS, uncertainty: corrected.uS};
    },
    problem: correctionProblem,
    isOffered: session => correctionLacks(session) === null,
  },
  {
    name: "band-power",
    words: "the mean wheel power through the band",
    unit: "W",
    better: "higher",
    digits: 0,
    value: (run, day) => {
      const corrected = correctionOf(day).runs[day.runs.indexOf(run)];
      return corrected && {value: corrected.power.powerW, uncertainty: corrected.powerUW};
    },
    problem: correctionProblem,
    isOffered: session => correctionLacks(session) === null,
  },
];

function correctionProblem(run: LoadedRun, day: TestDay): string | null {
  const {runs, problems} = correctionOf(day);
  const at = day.runs.indexOf(run);
  return runs[at] === null ? problems[at] : null;
}

/** @throws {RangeError} no measure of this name */
export function measureNamed(name: string): Measure {
  const measure = MEASURES.find(candidate => candidate.name === name);
  if (!measure)
    throw new RangeError(
      `measureNamed: "${name}" is none of ${MEASURES.map(known => known.name).join(", ")}`,
    );
  return measure;
}
