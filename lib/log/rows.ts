import {InputError} from "../result/error.ts";
import type {Unread} from "../result/log.ts";
import {
  clockSeconds,
  type DecimalSign,
  dateSeconds,
  dateTimeSeconds,
  flagValue,
  isMissing,
  unitedNumber,
} from "./cells.ts";
import type {CellFormat, Layout} from "./layout.ts";
import {createLineMap} from "./line-map.ts";
import {readNumber} from "./number-bytes.ts";
import {type ByteSource, PIECE_BYTES} from "./source.ts";
import {createTally} from "./tally.ts";
import {cleanText, textOf} from "./text.ts";

/** What walking through all rows gave. */
export interface ScannedRows {
  values: Float64Array[];
  labels: (string[] | null)[];
  rows: number;
  lineOf(row: number): number;
  unread: Unread["rows"];
}

/** More different texts than this in one column are free text, of which only the first ones are kept. */
const MAX_LABELS = 10_000;
/** Slack on the number of rows estimated from the first ones; more grows by half. */
const ROW_SLACK = 1.1;
const [TAB, CR, BLANK, QUOTE, PLUS, MINUS, ZERO, NINE] = [9, 13, 32, 34, 43, 45, 48, 57];

/**
 * Walks through the rows of a delimited text and fills one array a column, without a string for a plain number.
 *
 * @param source  text as UTF-8 or Latin-1 bytes
 * @param layout  where the table is and how its cells are written
 * @param start   byte at which the first row starts
 * @param names   column names, for the report
 * @param newline 10, or 13 in files that have no line feed
 */
export function scanRows(
  source: ByteSource,
  layout: Layout,
  start: {byte: number; rowBytes: number},
  names: string[],
  newline: number,
): ScannedRows {
  const separator = layout.separator.charCodeAt(0);
  const decimal = layout.decimal.charCodeAt(0);
  const {fields} = layout;
  const plain = layout.cells.map(
    cell => cell.kind === "number" && cell.zero === null && separator !== decimal,
  );
  const labels = layout.cells.map(cell => (cell.kind === "text" ? new Map<string, number>() : null));
  const isText = layout.cells.map(cell => cell.kind === "text");
  const report = createTally();
  const lines = createLineMap();
  const bad = new Int32Array(fields);
  let capacity = Math.ceil(((source.size - start.byte) / start.rowBytes) * ROW_SLACK) + 16;
  let values = layout.cells.map(() => new Float64Array(capacity));
  let row = 0;
  let line = layout.firstData;
  let at = start.byte;

  while (at < source.size) {
    let bytes = source.read(at, PIECE_BYTES);
    if (bytes.length === 0) break;
    const last = at + bytes.length >= source.size;
    let end = bytes.lastIndexOf(newline) + 1;
    const cut = last && end < bytes.length; // the file ends without a newline
    if (cut) {
      bytes = withNewline(bytes, newline);
      end = bytes.length;
    } else if (end === 0) {
      throw new InputError(1, {
        code: "line-too-long",
        words: `a line of more than ${PIECE_BYTES} bytes is no row of a table`,
        file: source.file,
        line: line + 1,
      });
    }
    scan(bytes, end, cut);
    at += cut ? bytes.length : end;
  }
  return {
    values: values.map(column => column.slice(0, row)),
    labels: labels.map(map => (map ? [...map.keys()] : null)),
    rows: row,
    lineOf: lines.lineOf,
    unread: report.rows(),
  };

  function scan(bytes: Uint8Array, end: number, cut: boolean): void {
    let p = 0;
    while (p < end) {
      line++;
      if (row === capacity) grow();
      let field = 0;
      let filled = 0;
      let surplus = 0;
      let badCells = 0;
      let any = false;
      for (;;) {
        let byte = bytes[p];
        while (byte === BLANK || byte === 0 || byte === CR || (byte === TAB && separator !== TAB)) {
          if (byte === newline) break;
          byte = bytes[++p];
        }
        if (field < fields && plain[field]) {
          if ((byte >= ZERO && byte <= NINE) || byte === MINUS || byte === PLUS || byte === decimal) {
            let q = readNumber(bytes, p, end, decimal, values[field], row);
            if (q >= 0) {
              byte = bytes[q];
              while (byte === BLANK || byte === 0 || byte === CR || (byte === TAB && separator !== TAB)) {
                if (byte === newline) break;
                byte = bytes[++q];
              }
              if (byte === separator) {
                p = q + 1;
                field++;
                filled++;
                continue;
              }
              if (byte === newline) {
                p = q + 1;
                field++;
                filled++;
                break;
              }
            }
          } else if (byte === separator) {
            values[field++][row] = Number.NaN;
            p++;
            continue;
          }
        }
        const cellEnd = endOfCell(bytes, p, separator, newline);
        const cell = cellEnd === p ? "" : cellText(bytes, p, cellEnd);
        if (field < fields) {
          const value = cellValue(field, cell);
          values[field][row] = value === null ? Number.NaN : value;
          if (value === null) bad[badCells++] = field;
          else if (!Number.isNaN(value) && !isText[field]) filled++;
        } else if (cell !== "") surplus++;
        if (cell !== "") any = true;
        field++;
        p = cellEnd + 1;
        if (bytes[cellEnd] === newline) break;
      }
      if (filled === 0) {
        if (any) report.add("no value in the row", line);
      } else if (cut && p >= end && field < fields) {
        report.add("the last row is cut", line);
      } else {
        if (field < fields) {
          report.add("fewer fields than the table has columns, the missing ones are taken as empty", line);
          for (let k = field; k < fields; k++) values[k][row] = Number.NaN;
        }
        if (surplus > 0)
          report.add("more fields than the table has columns, the last ones are left out", line);
        for (let k = 0; k < badCells; k++) report.add(badReason(bad[k]), line);
        lines.add(row++, line);
      }
    }
  }

  function grow(): void {
    capacity = Math.ceil(capacity * 1.5);
    values = values.map(column => {
      const larger = new Float64Array(capacity);
      larger.set(column);
      return larger;
    });
  }

  /** Value of a cell that is no plain number: NaN = empty, null = unreadable. */
  function cellValue(field: number, cell: string): number | null {
    if (isMissing(cell)) return Number.NaN;
    const map = labels[field];
    if (map) {
      const known = map.get(cell);
      if (known !== undefined) return known;
      if (map.size >= MAX_LABELS) return null;
      map.set(cell, map.size);
      return map.size - 1;
    }
    return formattedValue(cell, layout.cells[field], layout.decimal);
  }

  function badReason(field: number): string {
    const {kind, cellUnit} = layout.cells[field];
    const what =
      kind === "text"
        ? `one more text than the ${MAX_LABELS} that are kept`
        : kind === "number"
          ? cellUnit
            ? `not a number in ${cellUnit}`
            : "not a number"
          : `not a ${kind}`;
    return `${what} in column "${names[field]}"`;
  }
}

/** Value of a cell in a column's format, null where it is not of that format. */
function formattedValue(cell: string, format: CellFormat, decimal: DecimalSign): number | null {
  const {kind, zero, cellUnit, order} = format;
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
  const united = cellUnit === null ? null : unitedNumber(cell);
  return united?.unit === cellUnit ? (united?.value ?? null) : null;
}

function endOfCell(bytes: Uint8Array, at: number, separator: number, newline: number): number {
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

function cellText(bytes: Uint8Array, at: number, end: number): string {
  const text = cleanText(textOf(bytes.subarray(at, end)));
  return text.startsWith('"') ? cleanText(text.replace(/^"|"$/g, "").replaceAll('""', '"')) : text;
}

function withNewline(bytes: Uint8Array, newline: number): Uint8Array {
  const longer = new Uint8Array(bytes.length + 1);
  longer.set(bytes);
  longer[bytes.length] = newline;
  return longer;
}
