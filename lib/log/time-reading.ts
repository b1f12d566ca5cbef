import type {Guess} from "../result/log.ts";
import {medianInPlace} from "../stats/quantile.ts";
import {selectInPlace} from "../stats/select.ts";
import type {UnitRow} from "../units/table.ts";
import {parseUnit, toSI} from "../units/unit.ts";
import {medianOfPieces, orderedValues} from "./piece-median.ts";
import type {RawColumn} from "./reader.ts";
import {firstFinite, inMemory, inOrder, mapped, type Values} from "./values.ts";

/** One way to read the time of the rows. */
export interface TimeReading {
  columns: RawColumn[];
  /** "elapsed" counts from a zero of its own; "absolute" is a date; "clock" has no date, midnight unwrapped */
  kind: "elapsed" | "absolute" | "clock";
  /** one a row [s], NaN where unreadable */
  seconds: Values;
  /** what to add to `seconds` to get seconds since 1970-01-01 (whole numbers too long for a double) */
  zeroS: number;
  /** preference, lower first; equal ranks are equally likely */
  rank: number;
  confidence: Guess["confidence"];
  guesses: Guess[];
}

/** Preference of kinds; words and units of the header add to it. */
const RANK = {elapsed: 0, absolute: 10, "date and clock": 15, clock: 20};
const DAY_S = 86_400;
const YEAR_S = 366 * DAY_S;
/** Times since 1970 lie here [s]: 1980, when satellite time began, to 2100. */
const EPOCH_S = [315_000_000, 4_102_000_000];
/** Median steps of logs lie here [s]; outside, a unit without proof is doubted. */
const STEP_S = [0.0004, 5];
/** A written unit is contradicted only by a longer median step [s]: no log of a drive has a sample a minute. */
const IMPOSSIBLE_STEP_S = 60;
const TIME_UNITS = ["s", "ms", "us", "ns"];

/**
 * Reads one column (or clock and date together) as time, or null where its numbers contradict every unit.
 *
 * @param unit     unit as written or declared, or null
 * @param declared true where the user gave the unit: it is then never doubted in silence
 */
export function timeReading(
  columns: RawColumn[],
  unit: UnitRow | null,
  declared: boolean,
): TimeReading | null {
  const [column, date] = columns;
  const base = {columns, zeroS: 0, confidence: "sure" as const, guesses: []};
  if (column.kind === "date-time")
    return {...base, kind: "absolute", seconds: numbersOf(column), zeroS: column.zero, rank: RANK.absolute};
  if (column.kind === "clock" && date) {
    const days = numbersOf(date);
    const zeroS = firstFinite(days) ?? 0;
    const seconds = mapped(numbersOf(column), () => {
      const dayAt = inOrder(days);
      return (value, i) => value + (dayAt(i) - zeroS);
    });
    return {...base, kind: "absolute", seconds, zeroS, rank: RANK["date and clock"]};
  }
  if (column.kind === "clock")
    return {...base, kind: "clock", seconds: mapped(numbersOf(column), unwrapping), rank: RANK.clock};
  if (column.kind !== "number") return null;
  return numericTime(column, unit?.dimension === "time" ? unit : null, declared);
}

function numericTime(column: RawColumn, written: UnitRow | null, declared: boolean): TimeReading | null {
  const step = medianStep(numbersOf(column));
  const middle = middleOf(column);
  if (step === null || middle === null) {
    const unit = written ?? parseUnit("s");
    return {
      columns: [column],
      kind: "elapsed",
      seconds: scaled(column, unit, -column.zero),
      zeroS: 0,
      rank: RANK.elapsed,
      confidence: "weak",
      guesses: [],
    };
  }
  const inEpoch = (unit: UnitRow) => within(EPOCH_S, toSI(middle, unit));
  const stepS = (unit: UnitRow) => toSI(step, unit);
  const guesses: Guess[] = [];
  let unit = written;
  if (unit === null) {
    const units = TIME_UNITS.map(symbol => parseUnit(symbol));
    unit = units.find(inEpoch) ?? units.find(candidate => within(STEP_S, stepS(candidate))) ?? null;
    if (unit === null) return null;
    guesses.push({what: `unit of "${column.header}"`, chosen: unit.symbol, confidence: "weak"});
  } else if (stepS(unit) > IMPOSSIBLE_STEP_S) {
    if (declared) return null;
    const finer = TIME_UNITS.map(symbol => parseUnit(symbol)).find(candidate =>
      within(STEP_S, stepS(candidate)),
    );
    if (finer) {
      const chosen = `${finer.symbol}, although the header says ${unit.symbol}: its steps would be ${stepS(unit).toPrecision(3)} s`;
      guesses.push({what: `unit of "${column.header}"`, chosen, confidence: "likely"});
      unit = finer;
    }
  }
  const absolute = inEpoch(unit);
  const base = absolute ? (firstFinite(numbersOf(column)) ?? 0) : -column.zero;
  return {
    columns: [column],
    kind: absolute ? "absolute" : "elapsed",
    seconds: scaled(column, unit, base),
    zeroS: absolute ? toSI(column.zero + base, unit) : 0,
    rank: absolute ? RANK.absolute : RANK.elapsed,
    confidence: "sure",
    guesses,
  };
}

/** Column less a base, in seconds, or the values themselves where they are that; the difference is taken first, where it is exact. */
function scaled(column: RawColumn, unit: UnitRow, base: number): Values {
  const values = numbersOf(column);
  if (base === 0 && unit.factor === 1 && unit.divisor === 1 && unit.offset === 0) return values;
  return mapped(values, () => value => toSI(value - base, unit));
}

/** What a column holds, wherever it is held. */
function numbersOf({packed, values}: RawColumn): Values {
  return packed ?? inMemory(values);
}

function within([low, high]: number[], value: number): boolean {
  return value >= low && value <= high;
}

/** Middle value of a column, its long zero included, or null where it is empty. */
function middleOf(column: RawColumn): number | null {
  const middle = middleValue(numbersOf(column));
  return middle === null ? null : middle + column.zero;
}

/** The finite value with as many below it as above, the upper one of two; null where there is none. */
function middleValue(values: Values): number | null {
  if (!values.array)
    return middleOfAscending(values) ?? orderedValues(values, count => [count >> 1, count >> 1])?.[0] ?? null;
  const finite = finiteOf(values.array);
  return finite.length === 0 ? null : selectInPlace(finite, finite.length >> 1);
}

/** As `middleValue`, of values that all go up, as times do; else null. */
function middleOfAscending(values: Values): number | null {
  const place = values.length >> 1;
  let middle: number | null = null;
  let last = Number.NEGATIVE_INFINITY;
  let first = 0;
  for (let k = 0; k < values.pieces(); k++) {
    const piece = values.piece(k);
    for (let i = 0; i < piece.length; i++) {
      if (!(piece[i] >= last && piece[i] - piece[i] === 0)) return null;
      last = piece[i];
    }
    if (place >= first && place < first + piece.length) middle = piece[place - first];
    first += piece.length;
  }
  return middle;
}

/** Median of the steps forward, or null where there is none. */
function medianStep(values: Values): number | null {
  const steps = mapped(values, () => {
    let last = Number.NaN;
    return value => {
      if (!Number.isFinite(value)) return Number.NaN;
      const step = value > last ? value - last : Number.NaN;
      last = value;
      return step;
    };
  });
  if (!steps.array) return medianOfPieces(steps);
  const finite = finiteOf(steps.array);
  return finite.length === 0 ? null : medianInPlace(finite);
}

function finiteOf(values: Float64Array): Float64Array {
  const finite = new Float64Array(values.length);
  let count = 0;
  for (let i = 0; i < values.length; i++) if (values[i] - values[i] === 0) finite[count++] = values[i];
  return finite.subarray(0, count);
}

/** Clock times with a day added at every midnight: a step back of more than half a day. */
function unwrapping(): (value: number) => number {
  let days = 0;
  let last = Number.NaN;
  return value => {
    if (!Number.isFinite(value)) return Number.NaN;
    if (value < last - DAY_S / 2) days++;
    last = value;
    return value + days * DAY_S;
  };
}

/** Tells dates that can belong to the log: within a year of its middle sample. Receivers date wrongly before their first fix. */
export function absoluteWithin(seconds: Values): (time: number) => boolean {
  const middle = middleValue(seconds) ?? 0;
  return time => Math.abs(time - middle) <= YEAR_S;
}
