import type {Guess} from "../../result/log.ts";
import type {RawColumn, RawTable} from "../reader.ts";
import {createTally} from "../tally.ts";
import {bytesOf, type PidRow, pidRow, pidValue, readResponse} from "./service-01.ts";

/** "010C", "01 0C", "PID 0C", "0x0C", "PID_0x0C [hex]"; and with the letter of a byte behind it. */
const PID_HEADER =
  /^(?:mode\s*)?(?:(?:s?0?1[\s_-]*)?pid[\s_-]*|0x|01[\s_-]?)(?:0x)?([0-9a-f]{2})(?:[\s_-]+(?:byte[\s_-]*)?([ab]))?(?:\s*[[(].*)?$/i;
const PID_COLUMN = /^(?:obd[\s_-]*)?pid(?:\s*[[(].*)?$/i;
const BYTE_COLUMN = /^(?:(?:data[\s_-]*)?byte[\s_-]*|data[\s_-]*)?([ab])$/i;
const DATA_COLUMN = /^(?:data|payload|bytes|data bytes|raw|raw data|value hex)(?:\s*[[(].*)?$/i;
/** Cells of a column that are looked at for responses. */
const LOOKED_AT = 200;
/** Share of the texts of a column that must be responses for it to hold them. */
const MOST = 0.5;

/**
 * True for a column whose cells may be bytes in hexadecimal digits, by name or by what the first rows hold: their digits have
 * to be kept as they are written, since "1E05" is no number there.
 */
export function keepsDigits(names: readonly string[], column: number, filled: readonly string[]): boolean {
  const name = names[column];
  if (PID_HEADER.test(name)) return true;
  const named = PID_COLUMN.test(name) || BYTE_COLUMN.test(name) || DATA_COLUMN.test(name);
  if (named && names.some(other => PID_COLUMN.test(other))) return true;
  return holdsResponses(filled.slice(0, LOOKED_AT));
}

/**
 * The table with a column for every PID of service 01 that its raw columns hold, scaled as SAE J1979 says: responses of an
 * adapter, a column of bytes for each PID, or one column that names the PID beside its bytes. Columns that only looked like
 * bytes are numbers again.
 */
export function withDecodedPids(table: RawTable): RawTable {
  const held = (column: RawColumn) => column.kind === "text" && column.values.length === table.rows;
  const texts = table.columns.map(column => (held(column) ? textsOf(column) : null));
  if (texts.every(text => text === null)) return table;
  const tally = createTally();
  const decoded = new Map<number, Float64Array>();
  const put = (row: number, pid: number, bytes: readonly number[]) => {
    const value = pidValue(pid, bytes);
    if (value === null) {
      const words = pidRow(pid) ? "too few bytes for PID" : "no scale is known for PID";
      tally.add(`${words} ${hex(pid)}`, table.lineOf(row));
      return;
    }
    const values = decoded.get(pid) ?? new Float64Array(table.rows).fill(Number.NaN);
    values[row] = value;
    decoded.set(pid, values);
  };
  const columns = table.columns.map((column, k) => {
    const cells = texts[k];
    if (!cells) return column;
    if (holdsResponses(column.labels ?? [])) {
      for (const [row, cell] of cells.entries()) {
        const found = cell === "" ? null : readResponse(cell);
        if (found === "negative") tally.add("a control unit refused to answer (7F)", table.lineOf(row));
        else if (found) put(row, found.pid, found.bytes);
      }
      return column;
    }
    const named = PID_HEADER.exec(column.header);
    const pid = named && named[2] === undefined ? pidRow(Number.parseInt(named[1], 16)) : null;
    if (pid && areBytesOf(pid, column.labels ?? [])) {
      for (const [row, cell] of cells.entries()) if (cell !== "") put(row, pid.pid, bytesOf(cell)!);
      return column;
    }
    return column;
  });
  pairedBytes(table, texts, put);
  namedBesideBytes(table, texts, put);
  if (decoded.size === 0) return {...table, columns: columns.map(asNumbers)};
  const guesses: Guess[] = [];
  for (const [pid, values] of [...decoded].sort(([a], [b]) => a - b)) {
    const {words, unit, source} = pidRow(pid)!;
    const header = `${words} (PID ${hex(pid)})`;
    columns.push({
      number: columns.length + 1,
      header,
      unit,
      source: null,
      kind: "number",
      values,
      zero: 0,
      labels: null,
    });
    guesses.push({
      what: header,
      chosen: `scaled from raw bytes by ${source.split(",")[0]}`,
      confidence: "likely",
    });
  }
  return {
    ...table,
    columns: columns.map(asNumbers),
    unread: {...table.unread, rows: [...table.unread.rows, ...tally.rows()]},
    guesses: [...table.guesses, ...guesses],
  };
}

/** Columns "010C A" and "010C B". */
function pairedBytes(
  {columns, rows}: RawTable,
  texts: (string[] | null)[],
  put: (row: number, pid: number, bytes: readonly number[]) => void,
): void {
  const pairs = new Map<number, (string[] | null)[]>();
  for (const [k, {header}] of columns.entries()) {
    const named = PID_HEADER.exec(header);
    if (!named?.[2] || !texts[k]) continue;
    const pid = Number.parseInt(named[1], 16);
    const pair = pairs.get(pid) ?? [];
    pair[named[2].toLowerCase() === "a" ? 0 : 1] = texts[k];
    pairs.set(pid, pair);
  }
  for (const [pid, pair] of pairs) {
    const read = byteReader(pair);
    for (let row = 0; row < rows; row++) {
      const bytes = read(row);
      if (bytes.length > 0) put(row, pid, bytes);
    }
  }
}

/** A column "PID" beside "A" and "B", or beside "Data". */
function namedBesideBytes(
  {columns, rows}: RawTable,
  texts: (string[] | null)[],
  put: (row: number, pid: number, bytes: readonly number[]) => void,
): void {
  const at = columns.findIndex(({header}) => PID_COLUMN.test(header));
  const pids = texts[at];
  if (!pids) return;
  const hexadecimal = (columns[at].labels ?? []).some(label => /[a-fx]|^0\d/i.test(label));
  const column = (pattern: RegExp, letter?: string) => {
    const k = columns.findIndex(
      ({header}, i) =>
        i !== at &&
        texts[i] &&
        (letter === undefined ? pattern.test(header) : pattern.exec(header)?.[1].toLowerCase() === letter),
    );
    return k < 0 ? null : texts[k];
  };
  const data = column(DATA_COLUMN);
  const read = byteReader([column(BYTE_COLUMN, "a"), column(BYTE_COLUMN, "b")]);
  for (let row = 0; row < rows; row++) {
    const digits = pids[row].replace(/^0x/i, "");
    const pid = Number.parseInt(
      digits.length === 4 && digits.startsWith("01") ? digits.slice(2) : digits,
      hexadecimal ? 16 : 10,
    );
    const bytes = data ? bytesOf(data[row]) : read(row);
    if (Number.isInteger(pid) && bytes && bytes.length > 0) put(row, pid, bytes);
  }
}

/** Bytes of a row out of columns of one byte each, in hexadecimal digits where any of them needs them. */
function byteReader(columns: (string[] | null)[]): (row: number) => number[] {
  const hexadecimal = columns.some(cells => cells?.some(cell => /[a-fx]/i.test(cell)));
  return row => {
    const bytes: number[] = [];
    for (const cells of columns) {
      const cell = cells?.[row] ?? "";
      const byte =
        cell === "" ? Number.NaN : Number.parseInt(cell.replace(/^0x/i, ""), hexadecimal ? 16 : 10);
      if (!(byte >= 0 && byte <= 255)) break;
      bytes.push(byte);
    }
    return bytes;
  };
}

function holdsResponses(texts: readonly string[]): boolean {
  if (texts.length < 2) return false;
  let responses = 0;
  for (const text of texts) if (readResponse(text) !== null) responses++;
  return responses > MOST * texts.length && texts.some(text => /[a-f]/i.test(text) || /\s/.test(text.trim()));
}

/** Every cell has the digits of the PID's bytes, and one of them a letter: numbers that were scaled already have none. */
function areBytesOf({bytes}: PidRow, labels: readonly string[]): boolean {
  return (
    labels.length > 0 &&
    labels.every(label => (bytesOf(label)?.length ?? 0) >= bytes) &&
    labels.some(label => /[a-f]/i.test(label.replace(/^0x/i, "")))
  );
}

function textsOf({values, labels}: RawColumn): string[] {
  return Array.from(values, value => (Number.isNaN(value) ? "" : (labels?.[value] ?? "")));
}

/** A text column of which every text is a number, as numbers. */
function asNumbers(column: RawColumn): RawColumn {
  const {kind, labels, values, header} = column;
  if (kind !== "text" || !labels || labels.length === 0) return column;
  if (
    !PID_HEADER.test(header) &&
    !PID_COLUMN.test(header) &&
    !BYTE_COLUMN.test(header) &&
    !DATA_COLUMN.test(header)
  )
    return column;
  const numbers = labels.map(label =>
    /^[+-]?(?:\d+\.?\d*|\.\d+)$/.test(label) ? Number(label) : Number.NaN,
  );
  if (numbers.some(Number.isNaN)) return column;
  return {...column, kind: "number", labels: null, values: values.map(value => numbers[value] ?? Number.NaN)};
}

function hex(pid: number): string {
  return pid.toString(16).toUpperCase().padStart(2, "0");
}
