import {InputError} from "../result/error.ts";
import type {Guess, Log, Unread} from "../result/log.ts";
import {findUnit} from "../units/unit.ts";
import {columnMeaning} from "./column-name.ts";
import {columnOption, type DeclaredColumn} from "./declared.ts";
import type {RawColumn, RawTable} from "./reader.ts";
import {createTally} from "./tally.ts";
import {absoluteWithin, type TimeReading, timeReading} from "./time-reading.ts";

/** When the samples of a log were taken, and which of them can be used. */
export interface TimeBase {
  /** increasing times of the rows kept [s] */
  timeS: Float64Array;
  timeZero: Log["timeZero"];
  clockZeroS: number | null;
  /** indices of the rows kept, or null where all are */
  kept: Uint32Array | null;
  /** columns that the times came from */
  columns: RawColumn[];
  dropped: Unread["rows"];
  guesses: Guess[];
}

export const NOT_LATER = "time not later than the latest seen";
const NO_TIME = "no readable time";
const FAR_DATE = "date more than a year from the middle of the log";

/** Share of the rows that the best time column keeps; another must come near it to be as likely. */
const NEAR_BEST = 0.9;
/** Two time columns tell the same time when their durations agree to this part; clocks of crystals do to 1e-4. */
const SAME_DURATION = 0.01;

/**
 * Finds the time of every row and drops rows whose time is not later than the latest seen, with count and place.
 *
 * A declared column wins; else an elapsed column goes before a clock, and of several the one that tells most rows apart.
 *
 * @throws {InputError} 1: no time at all, a time that never increases, two columns that tell different times; 2: a rate
 *   that is not positive or is given beside a declared time column
 */
export function timeBase(
  table: RawTable,
  file: string,
  declared: DeclaredColumn | undefined,
  rateHz: number | undefined,
): TimeBase {
  if (rateHz !== undefined) return steadyTime(table, file, declared, rateHz);
  const readings = declared ? [declaredReading(table, file, declared)] : guessReadings(table);
  if (readings.length === 0) {
    throw new InputError(1, {
      code: "no-time",
      words: "no column is recognised as time",
      file,
      hint: `name one, ${columnOption("time", table.columns[0].header)}, or give the rate of the samples, --rate 10Hz`,
    });
  }
  const usable = readings
    .map(reading => ({reading, ...keptRows(table, reading)}))
    .filter(({count}) => count >= 2);
  if (usable.length === 0) throw neverIncreases(table, file, readings[0]);
  const most = Math.max(...usable.map(({count}) => count));
  const likely = usable
    .filter(({count}) => count >= NEAR_BEST * most)
    .sort((a, b) => a.reading.rank - b.reading.rank || b.count - a.count);
  const [best] = likely;
  requireOneTime(file, likely);
  const absolute = usable.find(({reading}) => reading.kind !== "elapsed");
  const guesses = [...best.reading.guesses];
  if (!declared)
    guesses.unshift({what: "time", chosen: namesOf(best.reading), confidence: best.reading.confidence});
  const times = toTimes(best.reading, best.kept, absolute?.reading);
  const stated = times.timeZero === "elapsed" ? (table.clockZeroS ?? null) : null;
  return {
    ...times,
    clockZeroS: times.clockZeroS ?? stated,
    columns: best.reading.columns,
    dropped: best.dropped,
    guesses,
  };
}

function steadyTime(
  table: RawTable,
  file: string,
  declared: DeclaredColumn | undefined,
  rateHz: number,
): TimeBase {
  if (!(rateHz > 0 && Number.isFinite(rateHz))) {
    throw new InputError(2, {
      code: "bad-rate",
      words: `the rate must be positive, found ${rateHz} Hz`,
      hint: "give it like --rate 20Hz",
    });
  }
  if (declared) {
    throw new InputError(2, {
      code: "rate-and-time",
      words: `both a rate and the time column "${declared.column.header}" were given`,
      file,
      hint: "leave one of them out",
    });
  }
  if (table.rows < 2)
    throw new InputError(1, {
      code: "too-few-rows",
      words: `the table has ${table.rows} row(s), at least 2 are needed`,
      file,
    });
  return {
    timeS: Float64Array.from({length: table.rows}, (_, i) => i / rateHz),
    timeZero: "first-sample",
    clockZeroS: null,
    kept: null,
    columns: [],
    dropped: [],
    guesses: [],
  };
}

function declaredReading(table: RawTable, file: string, {column, unit}: DeclaredColumn): TimeReading {
  if (column.kind === "text" || column.kind === "flag") {
    throw new InputError(1, {
      code: "time-unreadable",
      words: "the cells of the column declared as time are no times",
      file,
      line: table.lineOf(0),
      column: column.header,
      hint: "times are numbers with a unit, hh:mm:ss.s, or a date with a clock time",
    });
  }
  const reading = timeReading(
    [column],
    unit ?? findUnit(columnMeaning(column.header, column.unit).unitText ?? ""),
    unit !== null,
  );
  if (reading) return {...reading, rank: 0};
  throw new InputError(2, {
    code: "time-unit-contradicts",
    words: `steps of the column declared as time are no steps of a log in ${unit?.symbol ?? "its unit"}`,
    file,
    column: column.header,
    hint: `give another unit, ${columnOption("time", `${column.header}:ms`)}`,
  });
}

function guessReadings(table: RawTable): TimeReading[] {
  const readings: TimeReading[] = [];
  const dates = table.columns.filter(column => column.kind === "date");
  for (const column of table.columns) {
    const {quantity, unit, unitText, tier, confidence} = columnMeaning(column.header, column.unit);
    const named = quantity?.name === "time" || (unit?.dimension === "time" && column.header === unitText);
    if (column.kind === "clock" || column.kind === "date-time") {
      const [date] = column.kind === "clock" ? dates : [];
      const reading = timeReading(date ? [column, date] : [column], null, false);
      if (reading)
        readings.push({...reading, confidence: quantity?.name === "time" || date ? "sure" : "likely"});
    } else if (column.kind === "number" && named) {
      const reading = timeReading([column], unit, false);
      if (reading)
        readings.push({...reading, rank: reading.rank + (unit ? 0 : 1) + (quantity ? tier : 2), confidence});
    }
  }
  return readings;
}

/** Rows whose time is readable and later than the latest seen. */
function keptRows(
  table: RawTable,
  reading: TimeReading,
): {kept: Uint32Array | null; count: number; dropped: Unread["rows"]} {
  const {seconds} = reading;
  const within = reading.kind === "absolute" ? absoluteWithin(seconds) : null;
  const tally = createTally();
  let kept: Uint32Array | null = null; // none while every row is kept
  let count = 0;
  let latest = Number.NEGATIVE_INFINITY;
  for (let row = 0; row < table.rows; row++) {
    const time = seconds[row];
    let reason = "";
    if (!Number.isFinite(time)) reason = NO_TIME;
    else if (within !== null && !within(time)) reason = FAR_DATE;
    else if (!(time > latest)) reason = NOT_LATER;
    if (reason === "") {
      latest = time;
      if (kept) kept[count] = row;
      count++;
      continue;
    }
    if (kept === null) {
      kept = new Uint32Array(table.rows);
      for (let i = 0; i < row; i++) kept[i] = i;
    }
    tally.add(reason, table.lineOf(row));
  }
  return {kept: kept?.subarray(0, count) ?? null, count, dropped: tally.rows()};
}

function requireOneTime(file: string, likely: {reading: TimeReading; kept: Uint32Array | null}[]): void {
  const [best, ...others] = likely;
  for (const other of others) {
    if (other.reading.rank !== best.reading.rank) continue;
    const [a, b] = [durationS(best), durationS(other)];
    if (Math.abs(a - b) <= SAME_DURATION * Math.max(a, b)) continue;
    const names = [best, other].map(({reading}) => reading.columns[0].header);
    throw new InputError(1, {
      code: "ambiguous-column",
      words: `the columns "${names[0]}" (${a.toPrecision(6)} s long) and "${names[1]}" (${b.toPrecision(6)} s long) are equally likely to be the time`,
      file,
      column: names[0],
      hint: `settle it with ${columnOption("time", names[0])} or ${columnOption("time", names[1])}`,
    });
  }
}

function durationS({reading, kept}: {reading: TimeReading; kept: Uint32Array | null}): number {
  const {seconds} = reading;
  const [first, last] = kept ? [kept[0], kept[kept.length - 1]] : [0, seconds.length - 1];
  return seconds[last] - seconds[first];
}

function toTimes(reading: TimeReading, kept: Uint32Array | null, absolute: TimeReading | undefined) {
  const n = kept ? kept.length : reading.seconds.length;
  const rowAt = (i: number) => (kept ? kept[i] : i);
  const elapsed = reading.kind === "elapsed";
  const first = reading.seconds[rowAt(0)];
  // a large log has its time once: the column is nobody's else
  const timeS = elapsed && kept === null ? reading.seconds : new Float64Array(n);
  for (let i = 0; i < n; i++) timeS[i] = reading.seconds[rowAt(i)] - (elapsed ? 0 : first) + 0; // + 0: no −0
  let clockZeroS: number | null = null;
  const clock = elapsed ? absolute : reading;
  for (let i = 0; clock && i < n; i++) {
    const at = clock.seconds[rowAt(i)];
    if (!Number.isFinite(at)) continue;
    clockZeroS = clock.zeroS + at - timeS[i];
    break;
  }
  return {timeS, timeZero: elapsed ? ("elapsed" as const) : ("first-sample" as const), clockZeroS, kept};
}

function neverIncreases(table: RawTable, file: string, reading: TimeReading): InputError {
  const {seconds, columns} = reading;
  const row = seconds.findIndex(time => Number.isFinite(time));
  const column = columns[0].header;
  if (row < 0) {
    return new InputError(1, {
      code: "time-unreadable",
      words: "no cell of the time column could be read",
      file,
      line: table.rows > 0 ? table.lineOf(0) : undefined,
      column,
      hint: "name another column with --column time=…, or give --rate",
    });
  }
  return new InputError(1, {
    code: "time-never-increases",
    words: `time never increases: no row is later than the first, line ${table.lineOf(row)}`,
    file,
    line: table.lineOf(row),
    column,
    hint: "name another column with --column time=…, or give the rate of the samples with --rate",
  });
}

function namesOf(reading: TimeReading): string {
  return reading.columns.map(column => `"${column.header}"`).join(" and ");
}
