import type {Guess, Unread} from "../result/log.ts";
import type {PackedValues} from "./packed-values.ts";
import type {ByteSource} from "./source.ts";

/**
 * How a column's cells are to be understood. "clock" = seconds since midnight, "date" = seconds since 1970-01-01 at
 * midnight, "date-time" = seconds since 1970-01-01.
 */
export type ColumnKind = "number" | "clock" | "date" | "date-time" | "flag" | "text";

/** One column as a reader delivers it, before anybody has asked what it means. */
export interface RawColumn {
  /** place in the table, counted from 1 */
  number: number;
  /** name as written, trimmed; "column 3" where there is none */
  header: string;
  /** unit as written, without brackets, or null where there is none */
  unit: string | null;
  /** a further header line's word for this column, where several columns share a name */
  source: string | null;
  kind: ColumnKind;
  /** length = rows; NaN where the cell is empty or unreadable; the cell's value is `zero` + this */
  values: Float64Array;
  /** how many of the values are finite, where the reader has counted them and none can be a code for "no value" */
  plain?: number | null;
  /** the values where they are held packed: `values` is then empty */
  packed?: PackedValues;
  /** whole numbers beyond 2⁵³ are held as differences to this, so that their steps stay exact */
  zero: number;
  /** of text columns: the different texts; `values` counts from 0 in here */
  labels: string[] | null;
}

/** What a reader makes of a file: columns of one length. Time base, names and SI come later, for all formats alike. */
export interface RawTable {
  /** "delimited text", … */
  format: string;
  columns: RawColumn[];
  rows: number;
  /** clock time of elapsed time 0, seconds since 1970-01-01, where the format itself states it */
  clockZeroS?: number | null;
  /** line (or record) of the file that row `row` stands in, counted from 1 */
  lineOf(row: number): number;
  /**
   * where values were left in the file (`hold` of the options; such columns have no `values`): hands over the rows of all
   * columns once more, in order, `from` to `end` (exclusive) of arrays that are overwritten afterwards
   */
  walk?(take: (columns: Float64Array[], from: number, end: number) => void): void;
  unread: Unread;
  guesses: Guess[];
}

/** What the user may say about a file whatever its format. */
export interface ReadOptions {
  /** table of a file that holds several */
  group?: string;
  /**
   * of a table that takes more than so many bytes, which columns are to be held; a reader that can walk through the file
   * again holds them packed, and leaves the values of the others there
   */
  hold?: {aboveBytes: number; which(columns: RawColumn[]): boolean[]};
}

/**
 * One format. To add another: write a module that exports one of these and add its line to `readers.ts`.
 */
export interface LogReader {
  format: string;
  /**
   * How sure this reader is that the file is its own, from its first bytes: 1 = its signature is there, 0 = not mine.
   */
  probe(head: Uint8Array, file: string): number;
  /** @throws {InputError} 1, saying what was found and where */
  read(source: ByteSource, options: ReadOptions): RawTable;
}

/** Bytes that `probe` sees. */
export const PROBE_BYTES = 1 << 16;
