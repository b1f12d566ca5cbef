import {
  clockSeconds,
  type DecimalSign,
  dateSeconds,
  dateTimeSeconds,
  flagValue,
  groupedNumber,
  isMissing,
  unitedNumber,
} from "./cells.ts";
import type {CellFormat, Layout} from "./layout.ts";
import {readNumber} from "./number-bytes.ts";
import {cleanText, textOf} from "./text.ts";

/** More different texts than this in one column are free text, of which only the first ones are kept. */
const MAX_LABELS = 10_000;
const QUOTE = 34;

/** Values of cells one by one, as the columns of a table have them. */
export interface CellValues {
  /** value of a cell that is no plain number: NaN = empty, null = unreadable */
  valueOf(field: number, cell: string): number | null;
  /** why a cell of a column was not read */
  badReason(field: number): string;
  /** of text columns: the different texts so far */
  labels(): (string[] | null)[];
}

/** @param names column names, for the reasons */
export function cellValues(layout: Layout, names: string[]): CellValues {
  const labels = layout.cells.map(cell => (cell.kind === "text" ? new Map<string, number>() : null));
  return {
    valueOf(field, cell) {
      if (isMissing(cell)) return Number.NaN;
      const map = labels[field];
      if (map === null) return formattedValue(cell, layout.cells[field], layout.decimal);
      const known = map.get(cell);
      if (known !== undefined) return known;
      if (map.size >= MAX_LABELS) return null;
      map.set(cell, map.size);
      return map.size - 1;
    },
    badReason(field) {
      const {kind, cellUnit} = layout.cells[field];
      const number = cellUnit ? `not a number in ${cellUnit}` : "not a number";
      const text = `one more text than the ${MAX_LABELS} that are kept`;
      const what = kind === "text" ? text : kind === "number" ? number : `not a ${kind}`;
      return `${what} in column "${names[field]}"`;
    },
    labels: () => labels.map(map => (map ? [...map.keys()] : null)),
  };
}

/** Value of a cell in a column's format, null where it is not of that format. */
function formattedValue(cell: string, format: CellFormat, decimal: DecimalSign): number | null {
  const {kind, zero, cellUnit, order, grouped} = format;
  if (kind === "clock") return clockSeconds(cell);
  if (kind === "date") return dateSeconds(cell, order);
  if (kind === "date-time") return dateTimeSeconds(cell, order, Number(zero ?? 0n));
  if (kind === "flag") {
    const flag = flagValue(cell);
    return Number.isNaN(flag) ? null : flag;
  }
  if (zero !== null && /^[+-]?\d+$/.test(cell)) return Number(BigInt(cell) - zero);
  const bytes = new TextEncoder().encode(cell);
  const out = new Float64Array(1);
  if (readNumber(bytes, 0, bytes.length, decimal.charCodeAt(0), out, 0) === bytes.length) {
    return zero === null ? out[0] : out[0] - Number(zero);
  }
  const whole = groupedNumber(cell, decimal, grouped);
  if (whole !== null) return whole - Number(zero ?? 0n);
  const united = cellUnit === null ? null : unitedNumber(cell);
  return united?.unit === cellUnit ? (united?.value ?? null) : null;
}

/** Place of the separator or newline behind the cell that starts at `at`; a separator between quotes is none. */
export function endOfCell(bytes: Uint8Array, at: number, separator: number, newline: number): number {
  let p = at;
  if (bytes[p] === QUOTE) {
    for (p++; bytes[p] !== newline; p++) {
      if (bytes[p] !== QUOTE) continue;
      if (bytes[p + 1] !== QUOTE) break;
      p++;
    }
  }
  while (bytes[p] !== separator && bytes[p] !== newline) p++;
  return p;
}

/** Text of a cell, trimmed and without its quotes. */
export function cellText(bytes: Uint8Array, at: number, end: number): string {
  if (at === end) return "";
  const text = cleanText(textOf(bytes.subarray(at, end)));
  return text.startsWith('"') ? cleanText(text.replace(/^"|"$/g, "").replaceAll('""', '"')) : text;
}
