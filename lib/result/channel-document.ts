import type {ChannelAxis, KnockSign} from "./channel-session.ts";
import type {CheckRecord, IntervalRecord, JudgeDocument} from "./documents.ts";
import type {ArmName} from "./session.ts";

/** How an engine log lies to the speed log of its runs. Times in s, `_u` = standard uncertainty. */
export interface PairingRecord {
  runs: number[];
  file: string;
  engine: string;
  correlation: number;
  /** time of the engine log minus that of the speed log */
  lag_s: number;
  lag_u_s: number;
  /** how much faster the engine log's clock runs; null from fewer than three runs of one pair of logs */
  clock_rate: number | null;
  clock_rate_u: number | null;
  /** speed of the speed log over that of the engine log */
  scale: number;
  scale_u: number;
}

/** The channel asked about along its axis: a curve a run, and the difference of the arms with a band that holds all along it. */
export interface CurvesRecord {
  axis: ChannelAxis;
  axis_unit: string;
  /** middle of each cell */
  at: number[];
  step: number;
  runs: {run: number; arm: ArmName; values: number[]}[];
  /** changed − baseline; null where the runs are too few, and `too_few` says so */
  difference: {
    estimate: number[];
    low: number[];
    high: number[];
    adjusted_p: number[];
    level: number;
    method: string;
  } | null;
  too_few: string | null;
  /** where the arms differ: shown from `clear_from` to `clear_to`, estimated to reach from `from` to `to` */
  ranges: {from: number; to: number; clear_from: number; clear_to: number; mean: number; p: number}[];
  left_out: {run: number; reason: string}[];
}

/** One channel of the survey, in the unit of the channel. */
export interface SurveyRecord {
  channel: string;
  unit: string | null;
  /** mean within the band of each run that counts */
  values: {run: number; arm: ArmName; value: number}[];
  estimate: number;
  interval: IntervalRecord;
  /** of runs of one arm about their mean */
  spread: number;
  /** estimate over spread */
  size: number;
  p: number;
  adjusted_p: number;
  differs: boolean;
}

/** A condition of the runs, and what its difference between the arms would explain. */
export interface ConditionRecord {
  name: string;
  unit: string | null;
  difference: number | null;
  interval: IntervalRecord | null;
  /** change of the channel asked about for one unit of the condition, among runs of one arm */
  slope: number | null;
  slope_interval: IntervalRecord | null;
  /** slope times difference, in the unit of the channel asked about */
  explains: number | null;
  explains_interval: IntervalRecord | null;
  matched: boolean | null;
  words: string;
}

/** What `fairpull judge --json` prints for a session of `test: channels`. */
export interface ChannelDocument {
  format: "fairpull.judge/1";
  test: "channels";
  question: string;
  /** the channel asked about */
  primary: string;
  unit: string | null;
  knock_sign: KnockSign | null;
  arms: Record<ArmName, {label: string; n: number; mean: number | null; sd: number | null}>;
  /** mean of the channel within the band, changed − baseline */
  effect: {estimate: number | null; interval: IntervalRecord | null; model: string; too_few: string | null};
  /** the same for the time through the band: what the stopwatch says */
  band_time: {estimate: number | null; unit: "s"; interval: IntervalRecord | null};
  pairings: PairingRecord[];
  /** null where no curve can be laid over another, and `curves_missing` says why */
  curves: CurvesRecord | null;
  curves_missing: string | null;
  survey: {
    channels: SurveyRecord[];
    method: string;
    looked: number;
    level: number;
    left_out: {name: string; reason: string}[];
  };
  conditions: ConditionRecord[];
  carry_over: {
    estimate: number | null;
    interval: IntervalRecord | null;
    first: number;
    later: number;
    outcome: CheckRecord["outcome"];
    words: string;
  };
  /** share of power that the difference in spark is worth by the session's own slope; null without one, and `words` says so */
  power: {estimate: number | null; interval: IntervalRecord | null; words: string} | null;
  /** what was shown */
  words: string;
  /** what it does not say */
  silent: string;
  next: string;
  runs: {
    run: number;
    file: string;
    engine: string | null;
    arm: ArmName;
    value: number | null;
    used: boolean;
  }[];
  checks: CheckRecord[];
  excluded: {run: number; file: string; arm: ArmName; reason: string}[];
  seed: number;
  versions: JudgeDocument["versions"];
  inputs: JudgeDocument["inputs"];
}
