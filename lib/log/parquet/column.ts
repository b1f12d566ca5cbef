import type {RawColumn} from "../reader.ts";
import {cleanText} from "../text.ts";
import type {ColumnType} from "./column-type.ts";
import type {Values} from "./encodings.ts";
import type {Page} from "./pages.ts";

/** One column while its pages are read. */
export interface ColumnBuilder {
  add(page: Page): void;
  /** the values, or why there are none after all */
  finish(): Pick<RawColumn, "kind" | "values" | "zero" | "labels"> | {reason: string};
}

/**
 * Prepares to read a column.
 *
 * @param rows rows of the whole file
 */
export function columnBuilder(type: Exclude<ColumnType, {as: "none"}>, rows: number): ColumnBuilder {
  if (type.as === "long") return longBuilder(type, rows);
  return type.as === "text" ? textBuilder(rows) : numberBuilder(type, rows);
}

/** Calls `set` for every row with a value; returns the row behind the page. */
function spread(
  {rows, present, entries}: Page,
  first: number,
  set: (row: number, entry: number) => void,
): number {
  let value = 0;
  for (let i = 0; i < rows; i++) {
    if (present !== null && present[i] === 0) continue;
    set(first + i, entries === null ? value : entries[value]);
    value++;
  }
  return first + rows;
}

function missing(rows: number): Float64Array {
  return new Float64Array(rows).fill(Number.NaN);
}

function numberBuilder({kind, numbers}: Extract<ColumnType, {as: "number"}>, rows: number): ColumnBuilder {
  const values = missing(rows);
  const converted = lastOf(numbers);
  let row = 0;
  return {
    add(page) {
      const found = converted(page.values);
      row = spread(page, row, (at, entry) => {
        if (Number.isFinite(found[entry])) values[at] = found[entry];
      });
    },
    finish: () => ({kind, values, zero: 0, labels: null}),
  };
}

/** Pages share their dictionary; it is converted once. */
function lastOf<T>(convert: (values: Values) => T): (values: Values) => T {
  let last: {from: Values; to: T} | null = null;
  return from => {
    if (last?.from !== from) last = {from, to: convert(from)};
    return last.to;
  };
}

/** Whole numbers of 64 bits: where one is too long for a double, all are held as differences to one of them. */
function longBuilder(
  {kind, divisor, unsigned}: Extract<ColumnType, {as: "long"}>,
  rows: number,
): ColumnBuilder {
  const longs = new BigInt64Array(rows);
  const there = new Uint8Array(rows);
  let row = 0;
  let first: bigint | null = null;
  let exact = true;
  const signed = (long: bigint) => (unsigned ? BigInt.asUintN(64, long) : long);
  return {
    add({values, ...page}) {
      row = spread({...page, values}, row, (at, entry) => {
        longs[at] = values[entry] as bigint;
        there[at] = 1;
        const value = signed(longs[at]);
        first ??= value;
        exact &&= Number.isSafeInteger(Number(value));
      });
    },
    finish() {
      // Date-times count from a whole second, so that what is left of them is short.
      const whole = kind === "date-time" || !exact;
      const zero = whole && first !== null ? zeroOf(first, divisor) : 0n;
      const values = missing(rows);
      for (let at = 0; at < rows; at++) {
        if (there[at]) values[at] = Number(signed(longs[at]) - zero * divisor) / Number(divisor);
      }
      return {kind, values, zero: Number(zero), labels: null};
    },
  };
}

/** A number near the first value that a double holds exactly, in the column's unit. */
function zeroOf(first: bigint, divisor: bigint): bigint {
  return BigInt(Number(first / divisor));
}

function textBuilder(rows: number): ColumnBuilder {
  const values = missing(rows);
  const numbers = new Map<string, number>();
  const decoder = new TextDecoder("utf-8", {fatal: true});
  let row = 0;
  let bytes = false;
  const label = (text: string) => {
    const known = numbers.get(text);
    if (known === undefined) numbers.set(text, numbers.size);
    return known ?? numbers.size - 1;
  };
  const labels = lastOf(found => Float64Array.from(found as Uint8Array[], textNumber));
  return {
    add(page) {
      const found = labels(page.values);
      row = spread(page, row, (at, entry) => {
        values[at] = found[entry];
      });
    },
    finish: () =>
      bytes
        ? {reason: "it holds bytes that are no text"}
        : {kind: "text", values, zero: 0, labels: [...numbers.keys()]},
  };

  function textNumber(value: Uint8Array): number {
    let text = "";
    try {
      text = decoder.decode(value);
    } catch {
      bytes = true;
    }
    bytes ||= /[\u0000-\u0008\u000e-\u001f]/.test(text);
    const clean = bytes ? "" : cleanText(text);
    return clean === "" ? Number.NaN : label(clean); // an empty text is no value
  }
}
