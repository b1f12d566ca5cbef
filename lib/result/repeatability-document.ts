import type {CheckRecord, IntervalRecord, JudgeDocument} from "./documents.ts";
import type {Flag} from "./log.ts";

/** What `fairpull judge --json` prints for a session of `test: repeatability`. */
export interface RepeatabilityDocument {
  format: "fairpull.judge/1";
  test: "repeatability";
  question: string;
  primary: string;
  unit: string;
  /** what was driven */
  car: string;
  repeatability: {
    n: number;
    mean: number;
    /** spread of one run, with its interval */
    sd: number | null;
    sd_percent: number | null;
    sd_interval: IntervalRecord | null;
    /** two identical runs differ by less than this 95 times in 100 */
    limit: number | null;
    drift: {per_run: number; interval: IntervalRecord | null} | null;
    sd_about_drift: number | null;
    lag_one: number | null;
  };
  /** smallest true difference that planned tests would show in four days of five */
  reach: {order: string; runs: number; smallest: number}[];
  worthwhile: {value: number; unit: string; in_primary_unit: number};
  words: string;
  /** what these runs do not say */
  silent: string;
  next: string;
  runs: {
    run: number;
    file: string;
    value: number | null;
    value_u: number | null;
    used: boolean;
    flags: Flag[];
  }[];
  checks: CheckRecord[];
  excluded: {run: number; file: string; reason: string}[];
  seed: number;
  versions: JudgeDocument["versions"];
  inputs: JudgeDocument["inputs"];
}
