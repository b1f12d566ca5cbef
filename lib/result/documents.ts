import type {ErrorWords} from "./error.ts";
import type {Flag, Unread} from "./log.ts";
import type {ArmName} from "./session.ts";

/** One pass through a speed band. Times in s, `_u` = standard uncertainty (k = 1). */
export interface PassRecord {
  start_s: number;
  elapsed_s: number;
  elapsed_u_s: number;
  distance_m: number;
  samples: number;
  flags: Flag[];
  /** with `--session`: mean power at the wheels and mean grade, null where the log does not tell */
  wheel_power_w?: number | null;
  wheel_power_u_w?: number | null;
  grade?: number | null;
  grade_u?: number | null;
}

/** What `fairpull slice --json` prints. */
export interface SliceDocument {
  format: "fairpull.slice/1";
  file: string;
  /** null where the options name no band */
  band: {from: number; to: number; unit: string} | null;
  passes: PassRecord[];
  unread: Unread;
  error?: ErrorWords;
}

/** One channel in `fairpull inspect --json`; min and max in `unit`. */
export interface InspectChannel {
  name: string;
  column: string;
  unit: string | null;
  kind: "number" | "text" | "flag";
  min: number | null;
  max: number | null;
  valid: number;
}

/** What `fairpull inspect --json` prints. */
export interface InspectDocument {
  format: "fairpull.inspect/1";
  file: string;
  /** null where the file could not be read */
  log_format: string | null;
  /** rows kept; what was dropped is in `unread` */
  rows: number;
  duration_s: number | null;
  rate_hz: number | null;
  channels: InspectChannel[];
  gaps: {at_s: number; length_s: number}[];
  guesses: {what: string; chosen: string; confidence: "sure" | "likely" | "weak"}[];
  unread: Unread;
  error?: ErrorWords;
}

/** An interval in the unit of its estimate. */
export interface IntervalRecord {
  low: number;
  high: number;
  level: number;
  method: string;
}

/** An interval that is printed beside the main one, or why the plan does not allow it. */
export interface BesideRecord {
  /** "fittings" beside a main interval by run, "runs" beside one by fitting; percentile and BCa are there to be taught */
  name: "studentised-bootstrap" | "fittings" | "runs" | "randomisation" | "percentile" | "bca";
  interval: IntervalRecord | null;
  /** what it is for, or why there is none */
  words: string;
}

/** Which look at the data a result is. */
export interface LookRecord {
  kind: "final" | "planned" | "early" | "between" | "grown";
  /** this look, from 1 */
  look: number;
  runs: number;
  /** numbers of runs after which looks were planned; empty where the session does not say */
  planned_at: number[];
  /** two-sided p at which this look may call a difference shown */
  nominal_p: number;
  /** chance that looks up to this one show a difference that is not there, where it is above 1 − level, else null */
  false_alarm: number | null;
}

/** How much an answer hangs on single runs. Numbers in the unit of the primary measure. */
export interface RobustnessRecord {
  /** the answer without each run that entered; the state leaves failed checks out of account */
  influence: {run: number; estimate: number | null; state: VerdictState}[];
  /** estimate by ranks beside the main one */
  hodges_lehmann: {estimate: number; interval: IntervalRecord | null; method: string} | null;
  /** runs that stand out; t of the deviation from the model without the run, p multiplied by the number of runs */
  outliers: {run: number; t: number; p: number}[];
  outlier_rule: string;
  /** the answer with every excluded run put back that has a value; null where there is none */
  put_back: {
    runs: number[];
    estimate: number | null;
    interval: IntervalRecord | null;
    state: VerdictState;
  } | null;
}

/** What would settle an open question, by simulation from today's spread. */
export interface FurtherRecord {
  kind: "new-test" | "next-look";
  /** runs of a new test that settle it on half of such days, or runs to drive until the next look; null = too many for a day */
  runs: number | null;
  /** runs of a new test that settle it on four days of five */
  likely_runs: number | null;
  /** chance that the next look settles it */
  chance: number | null;
}

/** A measure beside the primary one: exploratory, its p adjusted for the number of measures. */
export interface ExploratoryRecord {
  measure: string;
  unit: string;
  estimate: number;
  interval: IntervalRecord;
  p: number;
  adjusted_p: number;
}

/** The states of a verdict, design of the words in `trial/verdict.ts`. */
export type VerdictState =
  | "shown-better"
  | "shown-worse"
  | "shown-different"
  | "no-worthwhile-difference"
  | "not-settled"
  | "not-a-fair-test"
  | "too-few-runs";

/** How large a shown difference is against the worthwhile one. */
export type VerdictSize = "at-least-worthwhile" | "below-worthwhile" | "open";

/** The verdict in state and words. */
export interface VerdictRecord {
  state: VerdictState;
  /** only with a shown difference, else null */
  size: VerdictSize | null;
  words: string;
  /** what would settle it or what to do next */
  next: string;
  /** what it does not say */
  silent: string;
  /** the other verdict that the excluded runs put back would give, in words; null where it stays or none can be put back */
  fragile: string | null;
  /** null where nothing is open or there is no spread to plan from */
  further: FurtherRecord | null;
}

/** How a check came out; "not-checkable" where nothing was logged or noted to tell. */
export type CheckOutcome = "held" | "doubtful" | "failed" | "not-checkable";

/** One check of the fairness of a test. */
export interface CheckRecord {
  name: string;
  outcome: CheckOutcome;
  /** what was found, with runs and numbers */
  words: string;
  /** what must be so */
  rule?: string;
  /** where it ends, with the unit */
  threshold?: string;
  /** what the difference found would explain of the effect, positive = the changed arm's value is larger by it */
  explains?: {value: number; unit: string};
  /** published procedure that a limit is from */
  source?: string;
}

/** One run as it entered the comparison. */
export interface RunRecord {
  run: number;
  file: string;
  arm: ArmName;
  /** value of the primary measure, null where the run has none */
  value: number | null;
  value_u: number | null;
  used: boolean;
  fitting: number;
  flags: Flag[];
}

/** What a correction of band times did, for `primary: corrected-band-time`. */
export interface CorrectionRecord {
  /** what the times were brought to, and what is not in it */
  reference: string;
  runs: {
    run: number;
    raw_s: number;
    corrected_s: number;
    /** each cause exchanged alone */
    grade_s: number;
    wind_s: number;
    air_s: number;
    mass_s: number;
    correction_s: number;
  }[];
  /** changed − baseline of the means within directions; the causes sum to the correction but for their products */
  difference: {
    raw_s: number;
    grade_s: number;
    wind_s: number;
    air_s: number;
    mass_s: number;
    corrected_s: number;
  };
  /** for a verdict: the answer as driven, and what the correction did to the difference with its uncertainty */
  words: {raw: string; size: string};
  /** the answer without the correction */
  raw: {estimate: number | null; interval: IntervalRecord | null; state: VerdictState};
  /** interval of the effect made wider by what both arms share of the correction's uncertainty */
  interval_with_correction: IntervalRecord | null;
  wind: {
    headwind_out_mps: number;
    u_mps: number;
    grade_u_mps: number;
    basis: "stated" | "both directions" | "cannot be told";
  };
  profile: {runs: number; from_m: number; to_m: number; residual_m: number} | null;
  /** uncertainty of the correction of the difference */
  budget: {
    shared_u_s: number;
    run_by_run_u_s: number;
    u_s: number;
    /** half width at 95 % */
    expanded_s: number;
    rows: {input: string; kind: "shared" | "run by run"; value: string; contribution_s: number}[];
  };
  /** what an error in the changed arm alone does, and how large it has to be to erase or fake the difference */
  sensitivity: {input: string; step: number; unit: string; effect_s: number; to_erase: number | null}[];
  assumed: string[];
  problems: {run: number; words: string}[];
  warnings: string[];
}

/** What `fairpull judge --json` prints for a comparison. */
export interface JudgeDocument {
  format: "fairpull.judge/1";
  test: "comparison";
  question: string;
  primary: string;
  unit: string;
  arms: Record<
    ArmName,
    {label: string; n: number; mean: number | null; sd: number | null; precision: number | null}
  >;
  effect: {
    estimate: number | null;
    unit: string;
    percent: number | null;
    interval: IntervalRecord | null;
    /** terms of the least-squares model beside the arm, from the plan */
    model: string;
    df: number | null;
    /** the studentised bootstrap beside the main interval */
    check: IntervalRecord | null;
    /** every interval beside the main one, that check among them; empty without a main one */
    beside: BesideRecord[];
  };
  look: LookRecord;
  /** `words`: p with the smallest that the re-deals can reach, and what follows where that is above 0.05 */
  permutation: {p: number; floor: number; deals: number; basis: string; words: string} | null;
  equivalence: {interval: IntervalRecord; holds: boolean; p: number} | null;
  worthwhile: {value: number; unit: string; in_primary_unit: number | null};
  verdict: VerdictRecord;
  /** without a main interval only what the excluded runs put back would give; null where an arm has no run that enters the model */
  robustness: RobustnessRecord | null;
  /** other measures of the same runs, and how their p was adjusted */
  exploratory: {measures: ExploratoryRecord[]; method: string};
  fittings: {
    baseline: number;
    changed: number;
    words: string;
    /** standard deviation between fittings beyond what runs explain, and of runs within one; null where no fitting has two runs */
    spread: {between: number; within: number; df: number} | null;
  };
  runs: RunRecord[];
  /** only where the primary measure is a corrected one */
  correction?: CorrectionRecord;
  checks: CheckRecord[];
  excluded: {run: number; file: string; arm: ArmName; reason: string; excluded_before: string | null}[];
  seed: number;
  versions: Record<string, string>;
  inputs: {file: string; sha256: string}[];
}

/** What `fairpull simulate --json` prints; `--list` leaves all but `scenarios` null or empty. */
export interface SimulateDocument {
  format: "fairpull.simulate/1";
  scenario: string | null;
  seed: number | null;
  folder: string | null;
  /** arm of each run in the order driven */
  order: ArmName[];
  files: {file: string; sha256: string}[];
  /** what is true whatever the day: changed − baseline, and the two band times */
  truth: {
    effect: {value: number; unit: string};
    relative_power: number;
    band_time_s: Record<ArmName, number>;
  } | null;
  /** of a day of coastdowns, which has no arms: what is true of the car, level road, still air */
  road_load?: {
    f0_n: number;
    f1_n_per_mps: number;
    f2_n_per_mps2: number;
    drag_area_m2: number;
    rolling_coefficient: number;
    air_density_kg_m3: number;
  };
  /** every scenario that can be named */
  scenarios: {name: string; words: string; seed: number}[];
  error?: ErrorWords;
}

/** What `fairpull judge --json` prints when there is nothing to judge or the session is wrong: how far it came, and why no further. */
export interface JudgeFailure {
  format: "fairpull.judge/1";
  /** null where the session could not be read */
  question: string | null;
  /** runs of the session; `problem` says why a run has no pass, null where it has one or its log was not reached */
  runs: {run: number; file: string; arm: ArmName; problem: string | null}[];
  error: ErrorWords;
}

/** What any command prints when it could not even start on its document. */
export interface ErrorDocument {
  format: string;
  error: ErrorWords;
}
