import {InputError} from "../result/error.ts";
import type {Channel, Guess, Log, Unread} from "../result/log.ts";
import {findUnit} from "../units/unit.ts";
import {columnMeaning} from "./column-name.ts";
import {columnOption, type DeclaredColumn} from "./declared.ts";
import type {RawColumn, RawTable} from "./reader.ts";
import {createTally} from "./tally.ts";
import {absoluteWithin, type TimeReading, timeReading} from "./time-reading.ts";
import {counted, forEachPiece, type Values} from "./values.ts";

/** When the rows of a table were taken, and which of them can be used. */
export interface RowTimes {
  /** one a row [s]: `fromS` less is its time on the log's own */
  seconds: Values;
  fromS: number;
  /** time of the last row, as `seconds` has it */
  lastS: number;
  rows: RowSet;
  timeZero: Log["timeZero"];
  clockZeroS: number | null;
  /** columns that the times came from */
  columns: RawColumn[];
  dropped: Unread["rows"];
  guesses: Guess[];
}

/** Some rows of a table. */
export interface RowSet {
  count: number;
  /** true for a row of the set; null where all are */
  has: Uint8Array | null;
}

/** When the samples of a log were taken, and which rows they are. */
export interface TimeBase {
  /** increasing times of the rows kept [s] */
  timeS: Float64Array;
  /** where the times are not in memory, and `timeS` is empty */
  range?: Channel["range"];
  timeZero: Log["timeZero"];
  clockZeroS: number | null;
  rows: RowSet;
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
export function rowTimes(
  table: RawTable,
  file: string,
  declared: DeclaredColumn | undefined,
  rateHz: number | undefined,
): RowTimes {
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
    .filter(({rows}) => rows.count >= 2);
  if (usable.length === 0) throw neverIncreases(table, file, readings[0]);
  const most = Math.max(...usable.map(({rows}) => rows.count));
  const likely = usable
    .filter(({rows}) => rows.count >= NEAR_BEST * most)
    .sort((a, b) => a.reading.rank - b.reading.rank || b.rows.count - a.rows.count);
  const [best] = likely;
  requireOneTime(file, likely);
  const absolute = usable.find(({reading}) => reading.kind !== "elapsed");
  const {reading, rows, firstS, lastS} = best;
  const guesses = [...reading.guesses];
  if (!declared) guesses.unshift({what: "time", chosen: namesOf(reading), confidence: reading.confidence});
  const elapsed = reading.kind === "elapsed";
  const fromS = elapsed ? 0 : firstS;
  const clock = elapsed ? absolute?.reading : reading;
  const stated = elapsed ? (table.clockZeroS ?? null) : null;
  return {
    seconds: reading.seconds,
    fromS,
    lastS,
    rows,
    timeZero: elapsed ? "elapsed" : "first-sample",
    clockZeroS: (clock ? clockZero(clock, reading, fromS, rows) : null) ?? stated,
    columns: reading.columns,
    dropped: best.dropped,
    guesses,
  };
}

/** Times and rows in memory. */
export function timeBase({seconds, fromS, ...others}: RowTimes): TimeBase {
  const {rows} = others;
  const all = seconds.array ?? new Float64Array(0);
  // a large log has its time once: the column is nobody's else
  const timeS = fromS === 0 && rows.has === null ? all : new Float64Array(rows.count);
  const kept = rows.has ? new Uint32Array(rows.count) : null;
  let count = 0;
  for (let row = 0; row < all.length; row++) {
    if (rows.has && rows.has[row] === 0) continue;
    timeS[count] = all[row] - fromS + 0; // + 0: no −0
    if (kept) kept[count] = row;
    count++;
  }
  return {...others, timeS, kept};
}

function steadyTime(
  table: RawTable,
  file: string,
  declared: DeclaredColumn | undefined,
  rateHz: number,
): RowTimes {
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
    seconds: counted(table.rows, i => i / rateHz, table.walk === undefined),
    fromS: 0,
    lastS: (table.rows - 1) / rateHz,
    rows: {count: table.rows, has: null},
    timeZero: "first-sample",
    clockZeroS: null,
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

interface Kept {
  reading: TimeReading;
  rows: RowSet;
  /** times of the first and the last row kept */
  firstS: number;
  lastS: number;
}

/** Rows whose time is readable and later than the latest seen. */
function keptRows(
  table: RawTable,
  {seconds, kind}: TimeReading,
): Omit<Kept, "reading"> & Pick<RowTimes, "dropped"> {
  const within = kind === "absolute" ? absoluteWithin(seconds) : null;
  const tally = createTally();
  let has: Uint8Array | null = null; // none while every row is kept
  let count = 0;
  let firstS = Number.NaN;
  let latest = Number.NEGATIVE_INFINITY;
  forEachPiece(seconds, (piece, first) => {
    for (let i = 0; i < piece.length; i++) {
      const time = piece[i];
      let reason = "";
      if (!Number.isFinite(time)) reason = NO_TIME;
      else if (within !== null && !within(time)) reason = FAR_DATE;
      else if (!(time > latest)) reason = NOT_LATER;
      if (reason === "") {
        if (count === 0) firstS = time;
        latest = time;
        count++;
        continue;
      }
      has ??= new Uint8Array(table.rows).fill(1);
      has[first + i] = 0;
      tally.add(reason, table.lineOf(first + i));
    }
  });
  return {rows: {count, has}, firstS, lastS: latest, dropped: tally.rows()};
}

function requireOneTime(file: string, likely: Kept[]): void {
  const [best, ...others] = likely;
  for (const other of others) {
    if (other.reading.rank !== best.reading.rank) continue;
    const [a, b] = [best, other].map(({firstS, lastS}) => lastS - firstS);
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

/** Clock time of the log's zero: by the first row that has one. */
function clockZero(clock: TimeReading, {seconds}: TimeReading, fromS: number, rows: RowSet): number | null {
  let zeroS: number | null = null;
  let first = 0;
  for (let k = 0; k < seconds.pieces() && zeroS === null; k++) {
    const times = seconds.piece(k);
    const clocks = clock.seconds === seconds ? times : clock.seconds.piece(k);
    const i = times.findIndex((_, j) => rows.has?.[first + j] !== 0 && Number.isFinite(clocks[j]));
    if (i >= 0) zeroS = clock.zeroS + clocks[i] - (times[i] - fromS + 0);
    first += times.length;
  }
  return zeroS;
}

function neverIncreases(table: RawTable, file: string, reading: TimeReading): InputError {
  const column = reading.columns[0].header;
  let row = -1;
  forEachPiece(reading.seconds, (piece, first) => {
    const found = row < 0 ? piece.findIndex(Number.isFinite) : -1;
    if (found >= 0) row = first + found;
  });
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
