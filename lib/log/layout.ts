import {
  type CellKind,
  cellKind,
  type DateOrder,
  type DecimalSign,
  dateOrder,
  dateTimeSeconds,
  isGrouped,
  unitedNumber,
} from "./cells.ts";
import {type HeaderNames, knownWords, readHeader} from "./header.ts";
import {keepsDigits} from "./obd/raw-pids.ts";
import type {ColumnKind} from "./reader.ts";
import {cleanText} from "./text.ts";

export type Separator = "," | ";" | "\t";

/** How the cells of one column are read. */
export interface CellFormat {
  kind: ColumnKind;
  /** whole numbers too long for a double, and date-times [s]: held as differences to this one */
  zero: bigint | null;
  /** some numbers have their whole part in groups of three */
  grouped: boolean;
  /** unit that stands in every cell behind the number */
  cellUnit: string | null;
  order: DateOrder;
  /** true where the order of day and month could not be told */
  orderGuessed: boolean;
}

/** Where the table of a text file is and how it is written. */
export interface Layout {
  separator: Separator;
  decimal: DecimalSign;
  /** index of the first line of data, counted from 0 */
  firstData: number;
  /** fields of a row, without the empty one behind a trailing separator */
  fields: number;
  header: HeaderNames;
  cells: CellFormat[];
}

/** The separators that are tried; on equal evidence the earlier wins. */
const SEPARATORS: Separator[] = [";", "\t", ","];
/** Rows looked ahead to tell the first row of the table from a head line of like shape. */
const LOOK_AHEAD = 6;

/** Quotes, and what `cleanText` takes out or puts right. */
const UNUSUAL = /["\u0000-\u0008\u000b-\u001f\u007f\ufeffÂ]/;

/** Cells of a line: trimmed, without quotes; a separator inside quotes does not separate. */
export function splitCells(line: string, separator: Separator): string[] {
  if (!UNUSUAL.test(line)) return line.split(separator).map(cell => cell.trim());
  const cells: string[] = [];
  let cell = "";
  let quoted = false;
  for (let i = 0; i < line.length; i++) {
    const c = line[i];
    if (c === '"') {
      if (quoted && line[i + 1] === '"') cell += line[i++];
      else if (quoted || cell.trim() === "") quoted = !quoted;
      else cell += c; // an inch sign inside a name
    } else if (c === separator && !quoted) {
      cells.push(cleanText(cell));
      cell = "";
    } else cell += c;
  }
  cells.push(cleanText(cell));
  return cells;
}

interface Trial {
  separator: Separator;
  decimal: DecimalSign;
  rows: string[][];
  kinds: CellKind[][];
  fields: number;
  firstData: number;
  score: number;
}

/**
 * Finds the table in the first lines of a text, or null where no line looks like a row of numbers.
 *
 * @param lines  whole lines from the start of the file
 * @param others whole lines from further on, to see what columns hold that are empty at first
 */
export function findLayout(lines: string[], others: string[]): Layout | null {
  let best: Trial | null = null;
  const present = SEPARATORS.filter(separator => lines.some(line => line.includes(separator)));
  for (const separator of present.length > 0 ? present : SEPARATORS.slice(-1)) {
    const trial = tryOut(lines, separator);
    if (trial && (best === null || trial.score > best.score)) best = trial;
  }
  if (best === null) return null;
  const {separator, decimal, rows, kinds, firstData} = best;
  const named = readHeader(lines, rows, kinds, firstData, best.fields);
  const fields = best.fields - (hasTrailing(rows.slice(firstData), best.fields, named.names) ? 1 : 0);
  const header = fields === best.fields ? named : readHeader(lines, rows, kinds, firstData, fields);
  const further = others.map(line => splitCells(line, separator));
  const body = [...rows.slice(firstData), ...further];
  const bodyKinds = [
    ...kinds.slice(firstData),
    ...further.map(row => row.map(cell => cellKind(cell, decimal))),
  ];
  const cells = Array.from({length: fields}, (_, k): CellFormat => {
    const filled: string[] = [];
    const filledKinds: CellKind[] = [];
    for (let i = 0; i < body.length; i++) {
      if ((bodyKinds[i][k] ?? "empty") === "empty") continue;
      filled.push(body[i][k]);
      filledKinds.push(bodyKinds[i][k]);
    }
    const format = {
      ...cellFormat(filled, filledKinds),
      grouped: filled.some(cell => isGrouped(cell, decimal)),
    };
    return keepsDigits(header.names, k, filled)
      ? {...format, kind: "text", zero: null, cellUnit: null}
      : format;
  });
  return {separator, decimal, firstData, fields, header, cells};
}

/** True for a line that can be a row of the table: values or gaps in at least half of its cells. */
export function isRow(kinds: CellKind[]): boolean {
  let values = 0;
  let texts = 0;
  for (const kind of kinds) {
    if (kind === "text" || kind === "flag") texts++;
    else if (kind !== "empty") values++;
  }
  return values > 0 && 2 * texts <= kinds.length;
}

function tryOut(lines: string[], separator: Separator): Trial | null {
  const rows = lines.map(line => splitCells(line, separator));
  // with commas between cells a decimal comma can only stand inside quotes
  const mayBeComma = lines.some(line => line.includes(separator === "," ? '"' : ","));
  const decimal = mayBeComma ? decimalSign(rows) : ".";
  const kinds = rows.map(row => row.map(cell => cellKind(cell, decimal)));
  const data = kinds.flatMap((row, i) => (isRow(row) ? [i] : []));
  if (data.length === 0) return null;
  const {fields, firstData} = tableWidth(rows, kinds, data);
  let score = 0;
  for (const i of data) {
    if (kinds[i].length !== fields) continue;
    for (const kind of kinds[i]) score += kind === "text" ? -1 : kind === "empty" || kind === "flag" ? 0 : 1;
  }
  return {separator, decimal, rows, kinds, fields, firstData, score};
}

/** Widths that fewer values than this share of the commonest one stand in are ragged rows, no table. */
const RARE_WIDTH = 0.05;

/**
 * Number of fields of the table and its first row: the width whose line above has most of the field's words, since head
 * data can be longer than a short table; on equal count the width that most cells stand in.
 */
function tableWidth(
  rows: string[][],
  kinds: CellKind[][],
  data: number[],
): {fields: number; firstData: number} {
  const cells = new Map<number, number>();
  for (const i of data) cells.set(kinds[i].length, (cells.get(kinds[i].length) ?? 0) + kinds[i].length);
  const most = Math.max(...cells.values());
  const places = [...cells]
    .filter(([, count]) => count >= RARE_WIDTH * most)
    .map(([fields, count]) => ({fields, count, ...firstRow(rows, kinds, fields)}))
    .sort((a, b) => b.words - a.words || b.count - a.count);
  return places[0];
}

/** Comma or point, by what the numbers of the cells have. */
function decimalSign(rows: string[][]): DecimalSign {
  let commas = 0;
  let points = 0;
  for (const row of rows) {
    for (const cell of row) {
      if (isGrouped(cell, ",")) commas++;
      else if (isGrouped(cell, ".")) points++;
      else if (cell.includes(",")) {
        if (/^[+-]?\d*,\d+(?:[eE][+-]?\d+)?$/.test(cell)) commas++;
      } else if (cell.includes(".") && /^[+-]?\d*\.\d+(?:[eE][+-]?\d+)?$/.test(cell)) points++;
    }
  }
  return commas > points ? "," : ".";
}

/**
 * First row of the table: a row of its width with more rows behind it. Head data may look like rows too ("Mass", 1390), so of
 * several such places the one whose line above has most of the field's words counts, the first on equal count.
 */
function firstRow(rows: string[][], kinds: CellKind[][], fields: number): {firstData: number; words: number} {
  const fits = (row: CellKind[]) => isRow(row) && Math.abs(row.length - fields) <= 1;
  const filled = (row: CellKind[]) => row.some(kind => kind !== "empty");
  let best = -1;
  let bestWords = -1;
  let above: number | null = null;
  for (let i = 0; i < kinds.length; i++) {
    if (!filled(kinds[i])) continue;
    if (kinds[i].length === fields && fits(kinds[i]) && (above === null || !fits(kinds[above]))) {
      const ahead = kinds.slice(i + 1, i + 1 + LOOK_AHEAD).filter(filled);
      const words = above === null ? 0 : knownWords(rows[above]);
      if (2 * ahead.filter(fits).length >= ahead.length && words > bestWords) {
        best = i;
        bestWords = words;
      }
    }
    above = i;
  }
  return best >= 0 ? {firstData: best, words: bestWords} : {firstData: kinds.findIndex(isRow), words: 0};
}

/** True where a separator behind the last cell of every row makes one empty field too many, which no name stands over. */
function hasTrailing(rows: string[][], fields: number, names: string[]): boolean {
  const full = rows.filter(row => row.length === fields);
  return (
    fields > 1 && names[fields - 1] === "" && full.length > 0 && full.every(row => row[fields - 1] === "")
  );
}

/** Digits from which a whole number may not fit a double. */
const LONG_DIGITS = /^[+-]?\d{16,}$/;

/** Format of a column by its cells that are not empty. */
function cellFormat(filled: string[], kinds: CellKind[]): Omit<CellFormat, "grouped"> {
  const counts: Partial<Record<CellKind, number>> = {};
  for (const kind of kinds) counts[kind] = (counts[kind] ?? 0) + 1;
  const [first] = (Object.entries(counts) as [CellKind, number][]).sort((a, b) => b[1] - a[1]);
  const most = first?.[0] ?? "number";
  const order = most === "date" || most === "date-time" ? dateOrder(filled) : null;
  const long =
    most === "number" ? filled.find(cell => cell.length > 15 && LONG_DIGITS.test(cell)) : undefined;
  const day = most === "date-time" ? middleDay(filled, order ?? "day-first") : null;
  const united = most === "united" ? filled.map(unitedNumber).find(cell => cell !== null) : undefined;
  return {
    kind: most === "united" || most === "empty" ? "number" : most,
    zero: long === undefined ? day : BigInt(long),
    cellUnit: united?.unit ?? null,
    order: order ?? "day-first",
    orderGuessed:
      order === null &&
      (most === "date" || most === "date-time") &&
      filled.some(cell => !/^\d{4}/.test(cell)),
  };
}

/** Midnight before a date-time in the middle of the rows, so that fractions of seconds keep their digits. */
function middleDay(cells: string[], order: DateOrder): bigint | null {
  for (const cell of cells.slice(cells.length >> 1)) {
    const seconds = dateTimeSeconds(cell, order, 0);
    if (seconds !== null) return BigInt(Math.floor(seconds / 86_400) * 86_400);
  }
  return null;
}
