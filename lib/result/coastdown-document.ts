import type {CheckRecord, IntervalRecord} from "./documents.ts";

/** One term of the road load. */
export interface LoadTerm {
  name: "F0" | "F1" | "F2" | "force";
  unit: string;
  estimate: number;
  u: number | null;
  interval: IntervalRecord | null;
}

/** What `fairpull judge --json` prints for a coastdown. */
export interface CoastdownDocument {
  format: "fairpull.judge/1";
  test: "coastdown";
  question: string;
  /** "in-doubt": a check failed or the fit warns; "too-few-runs": there is no interval */
  state: "found" | "in-doubt" | "too-few-runs";
  words: string;
  /** what the terms do not say */
  silent: string;
  next: string;
  /** the speeds between which the runs were fitted, and the unit in which the session writes them */
  band: {from_mps: number; to_mps: number; unit: string};
  /** on a level road, in still air, in the air of the day */
  terms: LoadTerm[];
  /** of the terms' estimates, by rows in their order; null with too few runs */
  covariance: number[] | null;
  /** of the terms by the shape of the fit, by rows */
  correlation: number[];
  df: number;
  /** total force at speeds [m/s] */
  forces: (LoadTerm & {speed_mps: number})[];
  mass: {mass_kg: number; effective_kg: number; source: string};
  air: {density_kg_m3: number; density_u_kg_m3: number; temperature_k: number; assumed: string[]};
  /** the same load in drag area and rolling coefficient, and brought to 20 °C and 1.189 kg/m³ */
  drag_area_m2: number;
  rolling_coefficient: number;
  reference: {f0_n: number; f1_n_per_mps: number; f2_n_per_mps2: number; words: string};
  wind: {headwind_out_mps: number; u_mps: number | null; stated: boolean} | null;
  /** slope common to all runs, uphill on the way out, which both directions take out of the terms; null in one direction */
  grade: {out: number; u: number | null} | null;
  runs: {
    run: number;
    file: string;
    direction: "out" | "back" | null;
    used: boolean;
    f0_n: number | null;
    f1_n_per_mps: number | null;
    f2_n_per_mps2: number | null;
    residual_mps: number | null;
    /** speed − fit, as means of equal parts of the run; null where it was not used */
    residuals: {time_s: number[]; speed_mps: number[]; residual_mps: number[]} | null;
    problem: string | null;
  }[];
  /** runs that the session leaves out; a run that cannot be fitted has its `problem` in `runs` */
  excluded: {run: number; file: string; reason: string}[];
  checks: CheckRecord[];
  warnings: string[];
  seed: number;
  versions: Record<string, string>;
  inputs: {file: string; sha256: string}[];
}
