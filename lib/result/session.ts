/** The kinds of question a session can ask. */
export type TestKind = "comparison" | "repeatability" | "channels";

/** Name of an order of runs; what each deals is in `trial/plan.ts`. */
export type OrderName = "complete" | "pairs" | "abba" | "blocks-of-4" | "drift-balanced";

/** Without the part, with the part. */
export type ArmName = "baseline" | "changed";

/** A speed band. Speeds in m/s; `unit` is the unit it was written in and is shown in. */
export interface Band {
  fromMps: number;
  toMps: number;
  unit: string;
  gear: number | null;
}

/** What was fixed before the runs about their order. */
export interface Plan {
  order: OrderName;
  /** planned number of runs, or null where the session does not say */
  runs: number | null;
  seed: number | null;
  /** planned looks at the data; 1 = only at the end; more need `runs` */
  looks: number;
  /** what the main interval counts: runs, as where it is left out, or fittings (runs between two changes of part) */
  unit?: "run" | "fitting";
  /** "sha256:…" over question, primary, worthwhile, band, arms and plan, or null where the plan was never locked */
  locked: string | null;
  /** at most this many changes of part; left out or null = as many as the lot draws */
  mostChanges?: number | null;
  /** "both": runs alternate out and back, each arm as many out as back; left out where the plan does not say */
  ways?: "one" | "both";
  /** the part is fitted anew before every run */
  refit?: boolean;
  /** question, primary, worthwhile, band, arms as they were written when the plan was locked */
  fixed?: Record<string, unknown>;
}

/** Coded letters of the arms in a sealed test. */
export interface Seal {
  /** "sha256:…" over salt, letters and the plan's lock */
  commitment: string;
  /** which arm each letter is, or null while the seal is closed */
  letters: Record<"A" | "B", ArmName> | null;
  salt: string | null;
  /** "sha256:…" over the session and its logs as they stood when the seal was opened, or null */
  opened: string | null;
}

/** Conditions of one run, SI, null where not written down. */
export interface Conditions {
  airTemperatureK: number | null;
  intakeTemperatureK: number | null;
  coolantK: number | null;
  /** fuel on board [m³] */
  fuelM3: number | null;
  occupants: number | null;
  tyrePressurePa: number | null;
  /** headwind positive against the car [m/s] */
  windMps: number | null;
}

/** One line of `runs`. */
export interface SessionRun {
  /** place in the session file, counted from 1 */
  run: number;
  /** line of the session file where the run starts */
  line: number;
  /** path of the log as written (relative to the session file) */
  file: string;
  /** span within the log [s] on its own time, null = from the start / to the end */
  fromS: number | null;
  toS: number | null;
  arm: ArmName;
  block: number | null;
  direction: "out" | "back" | null;
  /** gear it was driven in, or null where that is not written down */
  gear: number | null;
  note: string | null;
  /** reason of exclusion, or null */
  exclude: string | null;
  excludedBefore: "result known" | "not known" | null;
  refitted: boolean;
  /** clock time as written, or null */
  at: string | null;
  /** what was on the road, in words, or null */
  traffic: string | null;
  /** which arm or letter the driver took it for before the time was seen, or null */
  guess: string | null;
  /** how its log is read where it differs from the session's `rate`, `group` and `maxGap`; null = as they say */
  rateHz: number | null;
  group: string | null;
  maxGapS: number | null;
  conditions: Conditions;
}

/** The worthwhile difference: in the unit of the primary measure, or per cent of the baseline mean. */
export interface Worthwhile {
  value: number;
  /** "s", "W", … (SI) or "%" */
  unit: string;
}

/** What the session says of the car; SI, null where it does not say. */
export interface Vehicle {
  massKg: number | null;
  massUncertaintyKg: number | null;
  dragAreaM2: number | null;
  rollingCoefficient: number | null;
  rotatingMassFactor: number | null;
}

/** Air of the day, SI, null where the session does not say; humidity from 0 to 1. */
export interface Air {
  temperatureK: number | null;
  /** at the place */
  pressurePa: number | null;
  /** as weather reports have it, reduced to sea level */
  seaLevelPressurePa: number | null;
  /** of the place above sea level */
  heightM: number | null;
  humidity: number | null;
  dewPointK: number | null;
}

/** A session file after reading: every quantity in SI, every optional key present (null where it was left out). */
export interface Session {
  /** path of the session file as given */
  file: string;
  /** absolute path of its folder, which the logs are named from */
  folder: string;
  sha256: string;
  test: TestKind;
  question: string;
  primary: "band-time" | "corrected-band-time" | "band-power";
  worthwhile: Worthwhile;
  band: Band;
  arms: Record<ArmName, string>;
  plan: Plan | null;
  road: {access: "closed" | "public"; limitMps: number | null} | null;
  vehicle: Vehicle;
  air: Air;
  /** wind along the road as measured beside it, or null */
  wind: {headwindOutMps: number; uncertaintyMps: number} | null;
  /** field's word → "COLUMN" or "COLUMN:UNIT", as the option `--column` */
  columns: Record<string, string>;
  /** rate of the samples of logs without time, as the option `--rate` [Hz], or null */
  rateHz: number | null;
  /** table to read in logs that hold several, as `--group`, or null */
  group: string | null;
  /** a longer step ends a pass, as `--max-gap` [s]; null = five median steps, at least 0.5 s */
  maxGapS: number | null;
  seed: number;
  level: number;
  /** null where the labels are not sealed; while it is closed, `arms` and the arm of every run stand for letters, baseline for A and changed for B */
  seal: Seal | null;
  /** empty only before the day */
  runs: SessionRun[];
  /** the keys of the file as they are written */
  written: Readonly<Record<string, unknown>>;
}
