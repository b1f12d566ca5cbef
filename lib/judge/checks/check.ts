import type {CheckOutcome} from "../../result/documents.ts";
import type {ArmName} from "../../result/session.ts";
import type {TestDay} from "../../run/day.ts";
import type {BandCar, BandChange} from "../sensitivity.ts";
import type {GearRatios} from "./gear-ratio.ts";
import type {PaceOfDay} from "./pace.ts";
import type {RunView} from "./run-view.ts";

/** How a check came out. */
export interface Finding {
  outcome: CheckOutcome;
  /** what was found, with runs and numbers */
  words: string;
  /** what the difference between the arms would explain [unit of the primary measure], where that can be computed */
  explains?: number;
}

/** What the checks of a day look at. */
export interface CheckContext {
  day: TestDay;
  /** runs that enter the comparison, in the order driven */
  used: readonly RunView[];
  pace: PaceOfDay | null;
  engine: GearRatios;
  wheels: GearRatios;
  car: BandCar;
  /** change of band time [s] for a change of the car, or null; see `bandTimeChanges` */
  explain: (change: BandChange) => number | null;
}

/** One row of the table of checks. */
export interface Check {
  name: string;
  /** what must be so, in one sentence */
  rule: string;
  /** where it ends, with the unit */
  threshold?: string;
  /** published procedure that a limit is from */
  source?: string;
  judge(context: CheckContext): Finding;
}

export const ARMS: readonly ArmName[] = ["baseline", "changed"];

export function held(words: string, explains?: number | null): Finding {
  return finding("held", words, explains);
}

export function doubtful(words: string, explains?: number | null): Finding {
  return finding("doubtful", words, explains);
}

export function failed(words: string, explains?: number | null): Finding {
  return finding("failed", words, explains);
}

export function notCheckable(words: string): Finding {
  return {outcome: "not-checkable", words};
}

function finding(outcome: CheckOutcome, words: string, explains?: number | null): Finding {
  return explains === undefined || explains === null ? {outcome, words} : {outcome, words, explains};
}
