import type {Channel, Unread} from "../result/log.ts";
import type {UnitRow} from "../units/table.ts";
import {toSI} from "../units/unit.ts";
import {isMissingCode, missingCodeWords} from "./missing-codes.ts";
import type {RawColumn, RawTable} from "./reader.ts";
import {createTally} from "./tally.ts";
import type {RowSet} from "./time-base.ts";

/** What is told of a column whose values stay in the file. */
export interface ColumnRange {
  valid: number;
  /** of the finite values, in SI where the unit is known; null where there is none */
  range: NonNullable<Channel["range"]> | null;
  /** codes for no value, and what a bus sends for it */
  codes: Unread["rows"];
  allOnes: Unread["rows"];
}

/** Unit in which a column is written, or null, and what tells values [SI] that are none. */
export interface ColumnTell {
  unit: UnitRow | null;
  wordsOf: ((value: number) => string | null) | null;
}

/**
 * Counts and ranges of columns whose values were left in the file, from one more walk through it. They are those that the
 * values would have: the same rows, without codes for "no value", in the same unit.
 *
 * @param time   column of the times, which are told apart
 */
export function columnRanges(
  table: RawTable,
  tellOf: (column: RawColumn) => ColumnTell,
  {has}: RowSet,
  time: RawColumn | undefined,
): Map<RawColumn, ColumnRange> {
  const states = table.columns.flatMap((column, index) =>
    isHeld(table, column) || column === time
      ? []
      : {
          column,
          index,
          ...tellOf(column),
          codes: createTally(),
          allOnes: createTally(),
          valid: 0,
          first: Number.NaN,
          min: Number.POSITIVE_INFINITY,
          max: Number.NEGATIVE_INFINITY,
        },
  );
  let first = 0; // row of the table that the piece begins with
  table.walk?.((columns, from, end) => {
    const rows = end - from;
    for (const state of states) addPiece(state, columns[state.index], from, end);
    first += rows;
  });
  return new Map(
    states.map(({column, valid, min, max, first: firstValue, codes, allOnes}) => [
      column,
      {
        valid,
        range: valid === 0 ? null : {min, max, first: firstValue},
        codes: codes.rows(),
        allOnes: allOnes.rows(),
      },
    ]),
  );

  function addPiece(state: (typeof states)[number], values: Float64Array, from: number, end: number): void {
    const {column, wordsOf} = state;
    const coded = column.kind === "number";
    const unit = coded ? state.unit : null;
    for (let i = from; i < end; i++) {
      if (has?.[first + i - from] === 0) continue;
      if (coded && isMissingCode(values[i])) {
        state.codes.add(missingCodeWords(values[i], column.header), table.lineOf(first + i - from));
        continue;
      }
      const value = unit ? toSI(values[i] + column.zero, unit) : values[i] + column.zero;
      const words = wordsOf?.(value) ?? null;
      if (words) state.allOnes.add(words, table.lineOf(first + i - from));
      if (words || value - value !== 0) continue; // no finite value
      if (state.valid === 0) state.first = value;
      state.valid++;
      if (value < state.min) state.min = value;
      if (value > state.max) state.max = value;
    }
  }
}

/** What makes the value [SI] from that of a column, NaN where it is a code for none. */
export function valueIn({kind, zero}: RawColumn, {unit, wordsOf}: ColumnTell): (raw: number) => number {
  const coded = kind === "number";
  return raw => {
    if (coded && isMissingCode(raw)) return Number.NaN;
    const value = unit && coded ? toSI(raw + zero, unit) : raw + zero;
    return wordsOf?.(value) ? Number.NaN : value;
  };
}

/** False for a column whose values were left in the file. */
export function isHeld(table: RawTable, column: RawColumn): boolean {
  return table.walk === undefined || column.values.length === table.rows;
}
