/** Doubts about a pass or a log; they are told, never repaired in silence. */
export type Flag =
  | "gap"
  | "coarse-time"
  | "coarse-speed"
  | "held-samples"
  | "implausible-acceleration"
  | "frozen-speed"
  | "zero-speed"
  | "poor-fix"
  | "derived-speed"
  | "receiver-smoothing"
  | "sensor-default"
  | "wheel-speed-mismatch";

/** What of a log was not read, and why. */
export interface Unread {
  /** `first_line` counts lines of the file from 1 */
  rows: {reason: string; count: number; first_line: number}[];
  columns: {name: string; reason: string}[];
}

/** A choice the reader made because the file and the caller left it open. */
export interface Guess {
  what: string;
  chosen: string;
  /** "sure" = name and unit agree; "likely" = one of them; "weak" = told by the numbers alone */
  confidence: "sure" | "likely" | "weak";
}

/** One column of a log. Values are SI where the unit is known to us, else as written. */
export interface Channel {
  /** field's word for the quantity where it is known ("speed", "engine-speed", …), else the column's own name */
  name: string;
  /** header of the column as written, trimmed */
  column: string;
  /** unit as written in the file, or null */
  unit: string | null;
  /** unit of `values`: the SI unit after conversion, the written one where it is unknown to us, or null */
  valueUnit: string | null;
  kind: "number" | "text" | "flag";
  /** length = rows kept; NaN where the cell was empty or unreadable (counted in `unread`) */
  values: Float64Array;
  /** number of finite values */
  valid: number;
  /** only where a log larger than memory was read for its ranges: `values` is empty, and its finite ones lay here; null where none */
  range?: {min: number; max: number; first: number} | null;
  /** standard uncertainty of one value, in `valueUnit`, where the reader computed the values from others */
  standardUncertainty?: number;
  /** of kind "text" only: the different texts; `values` counts from 0 in here */
  labels?: string[];
}

/** A log after loading: strictly increasing time and typed channels of the same length. */
export interface Log {
  file: string;
  /** "delimited text", "NMEA 0183", … */
  format: string;
  /** elapsed time [s]; see `startsAt` for where zero is */
  timeS: Float64Array;
  /** "elapsed" = zero of the log's own elapsed column; "first-sample" = zero at the first sample with a valid time */
  timeZero: "elapsed" | "first-sample";
  /** clock time of `timeS` = 0 as seconds since 1970-01-01 UTC (local time taken as UTC where no zone is known, since midnight where no date is), or null */
  clockZeroS: number | null;
  channels: Channel[];
  unread: Unread;
  guesses: Guess[];
  /** lower-case hex SHA-256 of the bytes of the file */
  sha256: string;
}
