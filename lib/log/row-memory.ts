import type {RowFormat} from "./row-blocks.ts";
import {ROW_KERNEL} from "./row-kernel-bytes.ts";

/** More fields than this go cell by cell: memory is laid out for so many. */
export const MOST_FIELDS = 4096;
/** Blocks that threads may be ahead of the reader. */
export const SLOTS = 8;

/** Lines that start in so many bytes make a block: they and what is made of them fit the cache of one core. */
const BLOCK_BYTES = 1 << 18;
/** A longer line is no row [bytes]. */
const LONGEST_LINE = 1 << 22;
/** Read at once behind a block, for the end of its last line [bytes]. */
const TAIL_BYTES = 1 << 12;
/** The kernel looks at so many bytes behind the text. */
const SLACK = 64;
/** Columns begin in different sets of the cache [bytes]. */
const COLUMN_GAP = 64;
const PAGE_BYTES = 1 << 16;

/** Places in the kernel's memory [bytes]: what all blocks share, then one slot for each block under work. */
const POWERS = 64;
const PLAIN = 1024;
const FIRST_SLOT = PAGE_BYTES;
/** Places in a slot: a head of six numbers, the text, the lists of what is odd, the columns. */
const TEXT = 64;
const ODD_CELLS = TEXT + BLOCK_BYTES + LONGEST_LINE + TAIL_BYTES + SLACK;
const ODD_LINES = ODD_CELLS + 8 * (BLOCK_BYTES + 2 * MOST_FIELDS);
const COLUMNS = ODD_LINES + 8 * (BLOCK_BYTES + 8);
const SLOT_BYTES = COLUMNS + 8 * BLOCK_BYTES + MOST_FIELDS * 2 * COLUMN_GAP;

/** What the function that parses blocks has to know, as plain numbers: it is handed to threads. */
export interface Places {
  start: number;
  size: number;
  fields: number;
  separator: number;
  decimal: number;
  newline: number;
  blockBytes: number;
  longestLine: number;
  tailBytes: number;
  firstSlot: number;
  slotBytes: number;
  text: number;
  oddCells: number;
  oddLines: number;
  columns: number;
  /** bytes from one column to the next */
  stride: number;
  plain: number;
  powers: number;
}

/** Places for a text of `size` bytes. */
export function placesFor({start, fields, separator, decimal, newline}: RowFormat, size: number): Places {
  // a row has at least a byte a field; the last one may begin in the block's last byte
  const mostRows = Math.ceil(BLOCK_BYTES / fields) + 1;
  return {
    start,
    size,
    fields,
    separator,
    decimal,
    newline,
    blockBytes: BLOCK_BYTES,
    longestLine: LONGEST_LINE,
    tailBytes: TAIL_BYTES,
    firstSlot: FIRST_SLOT,
    slotBytes: SLOT_BYTES,
    text: TEXT,
    oddCells: ODD_CELLS,
    oddLines: ODD_LINES,
    columns: COLUMNS,
    stride: Math.ceil((8 * mostRows) / COLUMN_GAP) * COLUMN_GAP + COLUMN_GAP,
    plain: PLAIN,
    powers: POWERS,
  };
}

export type ParseRows = (...places: number[]) => void;

/** The kernel with its memory. */
export interface RowKernel {
  module: WebAssembly.Module;
  memory: WebAssembly.Memory;
  parseRows: ParseRows;
}

let compiled: WebAssembly.Module | null = null;
let single: RowKernel | null = null;

/** The kernel with memory for several threads, of its own; or for this one alone, kept from call to call. */
export function rowKernel(threads: boolean): RowKernel {
  if (!threads && single) return single;
  compiled ??= new WebAssembly.Module(Buffer.from(ROW_KERNEL.base64, "base64"));
  const pages = Math.ceil((FIRST_SLOT + (threads ? SLOTS : 1) * SLOT_BYTES) / PAGE_BYTES);
  const memory = new WebAssembly.Memory({initial: pages, maximum: pages, shared: true}); // the system backs what is used
  const {exports} = new WebAssembly.Instance(compiled, {env: {memory}});
  new Float64Array(memory.buffer, POWERS, 23).set(Array.from({length: 23}, (_, k) => Number(`1e${k}`)));
  const kernel = {module: compiled, memory, parseRows: exports.parseRows as ParseRows};
  if (!threads) single = kernel;
  return kernel;
}
