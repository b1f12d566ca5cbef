import {InputError} from "../result/error.ts";
import type {Unread} from "../result/log.ts";
import {type CellValues, cellText, endOfCell} from "./cell-values.ts";
import type {Layout} from "./layout.ts";
import {createLineMap} from "./line-map.ts";
import {readNumber} from "./number-bytes.ts";
import {forEachBlock, type RowBlock} from "./row-blocks.ts";
import {MOST_FIELDS} from "./row-memory.ts";
import type {ByteSource} from "./source.ts";
import {createTally} from "./tally.ts";

/** A table in a text, ready to be walked through. */
export interface TextTable {
  /** text as UTF-8 or Latin-1 bytes */
  source: ByteSource;
  layout: Layout;
  /** byte at which the first row starts */
  start: number;
  /** 10, or 13 in files that have no line feed */
  newline: number;
  cells: CellValues;
}

/** Takes in rows `from` to `end` (exclusive) of some columns, which are overwritten afterwards. */
export type TakeRows = (columns: Float64Array[], from: number, end: number) => void;

/** What a walk through all rows told beside their values. */
export interface RowReport {
  rows: number;
  lineOf(row: number): number;
  unread: Unread["rows"];
}

export interface WalkOptions {
  /** threads beside this one; default by the size of the file */
  threads?: number;
  /** false: every line goes cell by cell, which is how the fast way is checked */
  fast?: boolean;
}

/** Rows that came cell by cell are gathered, so many at most, before they are taken in. */
const GATHERED_ROWS = 256;
/** Runs of fewer rows are gathered too. */
const SHORT_RUN = 16;
const [TAB, CR, BLANK, PLUS, MINUS, ZERO, NINE] = [9, 13, 32, 43, 45, 48, 57];

/**
 * Walks through the rows of a delimited text in their order. Rows of plain numbers come from the kernel of
 * `row-kernel.as` by the block; other cells and lines are read here one by one, with the same result.
 *
 * @throws {InputError} 1: a line too long for a row
 */
export function walkRows(
  table: TextTable,
  take: TakeRows,
  {threads, fast = true}: WalkOptions = {},
): RowReport {
  const {source, layout, start, newline, cells} = table;
  const {fields} = layout;
  const separator = layout.separator.charCodeAt(0);
  const decimal = layout.decimal.charCodeAt(0);
  const plain = layout.cells.map(
    cell => cell.kind === "number" && cell.zero === null && separator !== decimal,
  );
  const isText = layout.cells.map(cell => cell.kind === "text");
  const report = createTally();
  const lines = createLineMap();
  const bad = new Int32Array(fields);
  const gathered: Float64Array[] = [];
  let count = 0; // rows gathered
  let rows = 0;
  let line = layout.firstData;

  // a kernel that expects one field without numbers finds every line odd
  const quick = fast && fields <= MOST_FIELDS;
  const format = quick ? {fields, plain} : {fields: 1, plain: [false]};
  const tooLong = (longest: number) =>
    new InputError(1, {
      code: "line-too-long",
      words: `a line of more than ${longest} bytes is no row of a table`,
      file: source.file,
      line: line + 1,
    });
  forEachBlock(source, {start, separator, decimal, newline, ...format}, {take: takeBlock, tooLong}, threads);
  if (count > 0) take(gathered, 0, count);
  return {rows, lineOf: lines.lineOf, unread: report.rows()};

  function takeBlock({text, linesEnd, rows: blockRows, columns, oddCells, oddLines}: RowBlock): void {
    let row = 0;
    let odd = 0;
    for (let k = 0; k <= oddLines.length; k += 2) {
      const end = k < oddLines.length ? oddLines[k + 1] : blockRows;
      if (end > row) {
        for (; odd < oddCells.length && oddCells[odd + 1] < end * fields; odd += 2) {
          const place = Math.floor(oddCells[odd + 1] / fields);
          const field = oddCells[odd + 1] % fields;
          columns[field][place] = oddCell(text, oddCells[odd], field, line + 1 + place - row);
        }
        lines.add(rows, line + 1);
        takeRun(columns, row, end);
        rows += end - row;
        line += end - row;
        row = end;
      }
      if (k < oddLines.length) oddLine(text, oddLines[k], linesEnd, false);
    }
    if (text.length > linesEnd) oddLine(withNewline(text.subarray(linesEnd), newline), 0, text.length, true);
  }

  function takeRun(columns: Float64Array[], from: number, end: number): void {
    if (end - from < SHORT_RUN) {
      for (let row = from; row < end; row++) {
        const target = placeForOne();
        for (let k = 0; k < fields; k++) gathered[k][target] = columns[k][row];
        count++;
      }
    } else {
      if (count > 0) take(gathered, 0, count);
      count = 0;
      take(columns, from, end);
    }
  }

  function placeForOne(): number {
    while (gathered.length < fields) gathered.push(new Float64Array(GATHERED_ROWS));
    if (count === GATHERED_ROWS) {
      take(gathered, 0, count);
      count = 0;
    }
    return count;
  }

  function oddCell(bytes: Uint8Array, at: number, field: number, cellLine: number): number {
    const value = cells.valueOf(field, cellText(bytes, at, endOfCell(bytes, at, separator, newline)));
    if (value === null) report.add(cells.badReason(field), cellLine);
    return value ?? Number.NaN;
  }

  /** One line, cell by cell. `cut`: the file ends in it. */
  function oddLine(bytes: Uint8Array, at: number, end: number, cut: boolean): void {
    const target = placeForOne();
    line++;
    let p = at;
    let field = 0;
    let filled = 0;
    let surplus = 0;
    let badCells = 0;
    let any = false;
    for (;;) {
      p = behindBlanks(bytes, p);
      let byte = bytes[p];
      if (field < fields && plain[field]) {
        if ((byte >= ZERO && byte <= NINE) || byte === MINUS || byte === PLUS || byte === decimal) {
          const q = readNumber(bytes, p, end, decimal, gathered[field], target);
          if (q >= 0) {
            const r = behindBlanks(bytes, q);
            byte = bytes[r];
            if (byte === separator || byte === newline) {
              p = r + 1;
              field++;
              filled++;
              if (byte === newline) break;
              continue;
            }
          }
        } else if (byte === separator) {
          gathered[field++][target] = Number.NaN;
          p++;
          continue;
        }
      }
      const cellEnd = endOfCell(bytes, p, separator, newline);
      const cell = cellText(bytes, p, cellEnd);
      if (field < fields) {
        const value = cells.valueOf(field, cell);
        gathered[field][target] = value === null ? Number.NaN : value;
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
    } else if (cut && field < fields) {
      report.add("the last row is cut", line);
    } else {
      if (field < fields) {
        report.add("fewer fields than the table has columns, the missing ones are taken as empty", line);
        for (let k = field; k < fields; k++) gathered[k][target] = Number.NaN;
      }
      if (surplus > 0) report.add("more fields than the table has columns, the last ones are left out", line);
      for (let k = 0; k < badCells; k++) report.add(cells.badReason(bad[k]), line);
      lines.add(rows++, line);
      count++;
    }
  }

  function behindBlanks(bytes: Uint8Array, at: number): number {
    let p = at;
    let byte = bytes[p];
    while (byte === BLANK || byte === 0 || byte === CR || (byte === TAB && separator !== TAB)) {
      if (byte === newline) break;
      byte = bytes[++p];
    }
    return p;
  }
}

function withNewline(bytes: Uint8Array, newline: number): Uint8Array {
  const longer = new Uint8Array(bytes.length + 1);
  longer.set(bytes);
  longer[bytes.length] = newline;
  return longer;
}
