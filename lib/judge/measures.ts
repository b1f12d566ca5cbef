import type {LoadedRun} from "../run/day.ts";
import type {Better} from "../trial/verdict.ts";

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
  /** value of one run with its standard uncertainty, or null where the run has no pass */
  value(run: LoadedRun): {value: number; uncertainty: number} | null;
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
  },
];

/** @throws {RangeError} no measure of this name */
export function measureNamed(name: string): Measure {
  const measure = MEASURES.find(candidate => candidate.name === name);
  if (!measure)
    throw new RangeError(
      `measureNamed: "${name}" is none of ${MEASURES.map(known => known.name).join(", ")}`,
    );
  return measure;
}
