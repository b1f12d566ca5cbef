import type {ErrorWords} from "./error.ts";
import type {Flag, Guess} from "./log.ts";

/** One pull or coastdown in `fairpull gather --json`. */
export interface GatherRun {
  /** place in the session, from 1, or null where it is not in it */
  run: number | null;
  kind: "pull" | "coastdown";
  /** relative to the folder */
  file: string;
  from_s: number;
  to_s: number;
  /** the session writes the span down, since the log holds more than this run */
  span_written: boolean;
  /** speeds at which the pull or coastdown starts and ends */
  start_kmh: number;
  end_kmh: number;
  direction: "out" | "back" | null;
  heading_deg: number | null;
  gear: number | null;
  /** engine speed over road speed */
  rpm_per_kmh: number | null;
  /** clock at the start of the span */
  at: string | null;
  told_by: "throttle" | "pedal" | "speed";
  pass: {start_s: number; elapsed_s: number; elapsed_u_s: number} | null;
  flags: Flag[];
  /** why it is not in the session, or null */
  left_out: string | null;
}

/** What `fairpull gather --json` prints. */
export interface GatherDocument {
  format: "fairpull.gather/1";
  folder: string;
  /** files written, or null where none was */
  session: string | null;
  page: string | null;
  /** the run sheet that was merged; null where none was given */
  sheet: {file: string; by: "clock" | "order"; runs: number; notes: string[]} | null;
  band: {from: number; to: number; unit: string; guessed: boolean} | null;
  order: "clock" | "name" | null;
  runs: GatherRun[];
  logs: {file: string; log_format: string; duration_s: number; runs: number; sha256: string}[];
  /** time of the engine log minus that of the satellite log; satellite speed over the car's own */
  pairs: {
    satellite: string;
    engine: string;
    lag_s: number;
    lag_u_s: number;
    scale: number;
    correlation: number;
    next_best_correlation: number | null;
    overlap_s: number;
  }[];
  guesses: Guess[];
  skipped: {file: string; reason: string}[];
  error?: ErrorWords;
}
