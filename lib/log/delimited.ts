import {InputError} from "../result/error.ts";
import type {Guess, Unread} from "../result/log.ts";
import {cellValues} from "./cell-values.ts";
import {growingColumns} from "./growing-columns.ts";
import {findLayout, type Layout, splitCells} from "./layout.ts";
import {packedValues} from "./packed-values.ts";
import {withoutQuotedBreaks} from "./quoted-breaks.ts";
import type {LogReader, RawColumn, RawTable, ReadOptions} from "./reader.ts";
import {type TakeRows, walkRows} from "./rows.ts";
import type {ByteSource} from "./source.ts";
import {binaryKind, cleanText, plainTextSource, textOf, utf8TextOf} from "./text.ts";

/** Start of the file in which the table is looked for: far more than the longest head of a logger seen (197 lines). */
const HEAD_BYTES = 1 << 18;
/** Looked at further on, at these places of the file, to see what columns hold that are empty at first. */
const OTHER_BYTES = 1 << 14;
const OTHER_PLACES = [0.3, 0.6, 0.98];
const QUOTE = 34;
const SEPARATOR_BYTES = [44, 59, 9];
const NAME_OF_SEPARATOR = {",": "comma", ";": "semicolon", "\t": "tab"};

/** Delimited text: comma, semicolon or tab, whatever the file name ends in. */
export const delimitedText: LogReader = {
  format: "delimited text",
  probe(head) {
    if (binaryKind(head)) return 0;
    return 0.1; // any text may be a table; a reader that knows its format's signature goes before
  },
  read: readDelimited,
};

function readDelimited(original: ByteSource, {hold}: ReadOptions = {}): RawTable {
  const {file} = original;
  const binary = binaryKind(original.read(0, 1 << 16));
  if (binary) {
    throw new InputError(1, {
      code: "not-a-table",
      words: `this looks like ${binary.what}`,
      file,
      hint: binary.hint,
    });
  }
  const plain = plainTextSource(original).source;
  const mayQuote = [0, ...OTHER_PLACES].some(place =>
    plain.read(Math.floor(plain.size * place), HEAD_BYTES).includes(QUOTE),
  );
  const {source, lineOf} = mayQuote
    ? withoutQuotedBreaks(plain, SEPARATOR_BYTES)
    : {source: plain, lineOf: (line: number) => line};
  const head = source.read(0, HEAD_BYTES);
  const newline = head.includes(10) || !head.includes(13) ? 10 : 13;
  const whole = head.length === source.size;
  const lines = linesOf(head, newline, whole);
  const others = OTHER_PLACES.flatMap(place => (whole ? [] : linesFrom(source, place, newline)));
  const layout = findLayout(lines, others);
  if (layout === null) throw noTable(file, lines);
  requireUndoubtedCommas(file, layout, lines);
  const names = columnNames(layout);
  const start = lineStart(head, newline, layout.firstData);
  const rowBytes = (lineStart(head, newline, lines.length) - start) / (lines.length - layout.firstData);
  const cells = cellValues(layout, names);
  const columns = names.map((header, k): RawColumn => {
    const {kind, zero, cellUnit} = layout.cells[k];
    return {
      number: k + 1,
      header,
      unit: layout.header.units[k] ?? cellUnit,
      source: layout.header.sources[k],
      kind,
      values: new Float64Array(0),
      zero: zero === null ? 0 : Number(zero),
      labels: null,
    };
  });
  const estimatedRows = (source.size - start) / rowBytes;
  const all = hold === undefined || estimatedRows * layout.fields * 8 <= hold.aboveBytes;
  const wanted = all ? columns.map(() => true) : hold.which(columns);
  const text = {source, layout, start, newline, cells};
  const growing = growingColumns(all ? columns.length : 0, estimatedRows);
  const packed = wanted.map(held => (held && !all ? packedValues() : undefined));
  const pack: TakeRows = (values, from, end) => {
    for (const [k, column] of packed.entries()) column?.add(values[k], from, end);
  };
  const report = walkRows(text, all ? growing.take : pack);
  const values = growing.values();
  const counts = growing.plain();
  const labels = cells.labels();
  for (const [k, column] of columns.entries()) {
    if (all) {
      column.values = values[k];
      column.plain = counts[k];
    } else column.packed = packed[k];
    column.labels = labels[k];
  }
  return {
    format: "delimited text",
    columns,
    rows: report.rows,
    lineOf: row => lineOf(report.lineOf(row)),
    walk: all ? undefined : take => void walkRows(text, take),
    unread: {
      rows: report.unread.map(row => ({...row, first_line: lineOf(row.first_line)})),
      columns: unreadColumns(layout),
    },
    guesses: layoutGuesses(layout, names),
  };
}

function columnNames(layout: Layout): string[] {
  return layout.header.names.map((name, k) => name || `column ${k + 1}`);
}

function unreadColumns(layout: Layout): Unread["columns"] {
  return layout.header.surplus.map(name => ({name, reason: "the rows have no field for this name"}));
}

function layoutGuesses(layout: Layout, names: string[]): Guess[] {
  const guesses: Guess[] = [
    {
      what: "separator",
      chosen: NAME_OF_SEPARATOR[layout.separator],
      confidence: layout.fields > 1 ? "sure" : "likely",
    },
  ];
  if (layout.decimal === ",") guesses.push({what: "decimal sign", chosen: "comma", confidence: "sure"});
  if (layout.header.lines === 0) {
    guesses.push({what: "header", chosen: "none, columns are numbered from 1", confidence: "likely"});
  }
  for (const [k, cell] of layout.cells.entries()) {
    if (cell.orderGuessed)
      guesses.push({what: `dates in "${names[k]}"`, chosen: cell.order, confidence: "weak"});
  }
  return guesses;
}

/** Lines of the first bytes, without their newlines; the last one only if it is complete or the file ends there. */
function linesOf(bytes: Uint8Array, newline: number, whole: boolean): string[] {
  const complete = bytes.lastIndexOf(newline) + 1;
  const end = whole || complete === 0 ? bytes.length : complete;
  const used = bytes.subarray(0, end);
  const byLine = (): string[] => {
    const lines: string[] = [];
    for (let start = 0; start < end; ) {
      const next = nextLine(used, newline, start);
      lines.push(textOf(used.subarray(start, next)));
      start = next;
    }
    return lines;
  };
  const text = utf8TextOf(used);
  const lines = text === null ? byLine() : text.split(String.fromCharCode(newline));
  if (text !== null && lines[lines.length - 1] === "") lines.pop();
  return lines.map(line => (/[\r\n]$/.test(line) ? line.replace(/[\r\n]+$/, "") : line));
}

/** Byte at which a line starts, counted from 0; the end where there are fewer lines. */
function lineStart(bytes: Uint8Array, newline: number, line: number): number {
  let start = 0;
  for (let k = 0; k < line && start < bytes.length; k++) start = nextLine(bytes, newline, start);
  return start;
}

function nextLine(bytes: Uint8Array, newline: number, start: number): number {
  const found = bytes.indexOf(newline, start);
  return found < 0 ? bytes.length : found + 1;
}

function linesFrom(source: ByteSource, place: number, newline: number): string[] {
  const bytes = source.read(Math.floor((source.size - OTHER_BYTES) * place), OTHER_BYTES);
  return linesOf(bytes, newline, false).slice(1);
}

function noTable(file: string, lines: string[]): InputError {
  const first = lines.findIndex(line => cleanText(line) !== "");
  const words =
    first < 0
      ? "the file holds blank lines only"
      : `no row of numbers was found; line ${first + 1} reads "${cleanText(lines[first]).slice(0, 60)}"`;
  return new InputError(1, {
    code: "not-a-table",
    words,
    file,
    line: Math.max(first, 0) + 1,
    hint: "give a log with one row a sample",
  });
}

/**
 * Decimal commas between commas cannot be told apart from two columns: refused where whole numbers stand in more
 * fields than there are names.
 */
function requireUndoubtedCommas(file: string, layout: Layout, lines: string[]): void {
  const named = layout.header.names.filter(name => name !== "").length;
  if (layout.separator !== "," || named === 0 || layout.fields < 2 * named - 1 || layout.fields === named)
    return;
  const rows = lines.slice(layout.firstData).filter(line => line.trim() !== "");
  if (!rows.every(line => splitCells(line, ",").every(cell => /^[+-]?\d*$/.test(cell)))) return;
  throw new InputError(1, {
    code: "decimal-comma",
    words: `rows have ${layout.fields} fields under ${named} names: commas seem to be both decimal sign and separator`,
    file,
    line: layout.firstData + 1,
    hint: "export the log again with semicolons between the columns or with decimal points",
  });
}
