import type {Unread} from "../result/log.ts";
import type {UnitRow} from "../units/table.ts";
import {toSI} from "../units/unit.ts";
import {isMissingCode, missingCodeWords} from "./missing-codes.ts";
import type {RawColumn, RawTable} from "./reader.ts";
import {createTally} from "./tally.ts";

/** What is told of a column whose values stay in the file. */
export interface ColumnRange {
  valid: number;
  /** of the finite values, in SI where the unit is known; null where there is none */
  range: {min: number; max: number} | null;
  /** codes for no value, and what a bus sends for it */
  codes: Unread["rows"];
  allOnes: Unread["rows"];
}

/**
 * Counts and ranges of columns whose values were left in the file, from one more walk through it. They are those that the
 * values would have: the same rows, without codes for "no value", in the same unit.
 *
 * @param tellOf unit in which a column is written, or null, and what tells values [SI] that are none
 * @param kept   rows that count, or null for all
 */
export function columnRanges(
  table: RawTable,
  tellOf: (column: RawColumn) => {unit: UnitRow | null; wordsOf: ((value: number) => string | null) | null},
  kept: Uint32Array | null,
): Map<RawColumn, ColumnRange> {
  const states = table.columns.flatMap((column, index) =>
    isHeld(table, column)
      ? []
      : {
          column,
          index,
          ...tellOf(column),
          codes: createTally(),
          allOnes: createTally(),
          valid: 0,
          min: Number.POSITIVE_INFINITY,
          max: Number.NEGATIVE_INFINITY,
        },
  );
  let first = 0; // row of the table that the piece begins with
  let next = 0; // place in `kept`
  table.walk?.((columns, from, end) => {
    const rows = end - from;
    let places: Uint32Array | null = null;
    if (kept) {
      const start = next;
      while (next < kept.length && kept[next] < first + rows) next++;
      places = kept.subarray(start, next).map(row => row - first + from);
    }
    for (const state of states) addPiece(state, columns[state.index], places, from, end);
    first += rows;
  });
  return new Map(
    states.map(({column, valid, min, max, codes, allOnes}) => [
      column,
      {valid, range: valid === 0 ? null : {min, max}, codes: codes.rows(), allOnes: allOnes.rows()},
    ]),
  );

  function addPiece(
    state: (typeof states)[number],
    values: Float64Array,
    places: Uint32Array | null,
    from: number,
    end: number,
  ): void {
    const {column, wordsOf} = state;
    const coded = column.kind === "number";
    const unit = coded ? state.unit : null;
    const count = places ? places.length : end - from;
    for (let k = 0; k < count; k++) {
      const i = places ? places[k] : from + k;
      if (coded && isMissingCode(values[i])) {
        state.codes.add(missingCodeWords(values[i], column.header), table.lineOf(first + i - from));
        continue;
      }
      const value = unit ? toSI(values[i] + column.zero, unit) : values[i] + column.zero;
      const words = wordsOf?.(value) ?? null;
      if (words) state.allOnes.add(words, table.lineOf(first + i - from));
      if (words || value - value !== 0) continue; // no finite value
      state.valid++;
      if (value < state.min) state.min = value;
      if (value > state.max) state.max = value;
    }
  }
}

/** False for a column whose values were left in the file. */
export function isHeld(table: RawTable, column: RawColumn): boolean {
  return table.walk === undefined || column.values.length === table.rows;
}
