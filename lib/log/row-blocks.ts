import {readSync} from "node:fs";
import {availableParallelism} from "node:os";
import {blockParser, HEAD, type ReadInto} from "./block-parser.ts";
import {startBlockThreads} from "./block-threads.ts";
import {MOST_FIELDS, type Places, placesFor, rowKernel} from "./row-memory.ts";
import type {ByteSource} from "./source.ts";

/** How the rows of a table are written, as far as the kernel needs to know. */
export interface RowFormat {
  /** byte at which the first row starts */
  start: number;
  /** at most `MOST_FIELDS` */
  fields: number;
  /** bytes */
  separator: number;
  decimal: number;
  newline: number;
  /** one a field: true where its cells are plain numbers */
  plain: boolean[];
}

/** Lines of one block of a text as the kernel left them, good until the next block comes. */
export interface RowBlock {
  /** the block's lines and what stands behind the last newline of the file; memory that threads share */
  text: Uint8Array;
  /** length of the lines; more than that is left over */
  linesEnd: number;
  rows: number;
  /** one a field, of `rows` values and more; NaN for empty and odd cells */
  columns: Float64Array[];
  /** pairs: offset in `text`, row · fields + field; cells of the rows that are neither plain numbers nor empty */
  oddCells: Uint32Array;
  /** pairs: offset in `text`, rows of this block before it; lines that are not among the rows */
  oddLines: Uint32Array;
}

/** Files from this size on are worth the 20 ms that a thread takes to start [bytes]. */
const THREAD_BYTES = 12 << 20;
/** More threads do not help: one has to take in what they all make. */
const MOST_THREADS = 3;

/**
 * Hands the lines of a text to `take`, block by block in order. Blocks of large files are parsed by several threads at
 * once; what comes out does not depend on their number.
 *
 * @param tooLong what is thrown where a line is longer than so many bytes
 * @param threads beside this one; default by the size of the file and the cores there are
 */
export function forEachBlock(
  source: ByteSource,
  format: RowFormat,
  {take, tooLong}: {take: (block: RowBlock) => void; tooLong: (longest: number) => Error},
  threads = usualThreads(source),
): void {
  if (format.fields > MOST_FIELDS)
    throw new RangeError(`forEachBlock: at most ${MOST_FIELDS} fields, found ${format.fields}`);
  const {place} = source;
  const kernel = rowKernel(threads > 0);
  const {buffer} = kernel.memory;
  const places = placesFor(format, source.size);
  new Uint8Array(buffer, places.plain, format.fields).set(format.plain.map(Number));
  const parse = blockParser(kernel.parseRows, buffer, places, readerOf(source));
  const view = slotViews(buffer, places);
  const blocks = Math.ceil((source.size - format.start) / places.blockBytes);
  let at = format.start;
  const takeSlot = (slot: number, whole: boolean): void => {
    const block = view(slot);
    source.seen?.(at, block.text);
    at += block.text.length;
    take(block);
    if (!whole) throw tooLong(places.longestLine);
  };
  if (threads === 0 || place === undefined) {
    for (let block = 0; block < blocks; block++) takeSlot(0, parse(block, 0));
    return;
  }
  const others = startBlockThreads(threads, kernel, places, place, blocks, parse);
  try {
    for (let block = 0; block < blocks; block++) {
      const slot = others.slotOf(block);
      takeSlot(slot, others.wait(block) || parse(block, slot)); // what a thread failed on fails here, with its reason
      others.done(block);
    }
  } finally {
    others.stop();
  }
}

function usualThreads({size}: ByteSource): number {
  return size < THREAD_BYTES ? 0 : Math.min(MOST_THREADS, availableParallelism() - 1);
}

function readerOf(source: ByteSource): ReadInto {
  const {place} = source;
  if (place) return (into, at) => readSync(place.descriptor, into, 0, into.length, place.base + at);
  return (into, at) => {
    const piece = source.read(at, into.length);
    into.set(piece);
    return piece.length;
  };
}

/** What lies in a slot. */
function slotViews(buffer: ArrayBufferLike, n: Places): (slot: number) => RowBlock {
  const columns: Float64Array[][] = [];
  return slot => {
    const base = n.firstSlot + slot * n.slotBytes;
    columns[slot] ??= Array.from(
      {length: n.fields},
      (_, k) => new Float64Array(buffer, base + n.columns + k * n.stride, n.stride >> 3),
    );
    const head = new Uint32Array(buffer, base, 6);
    const from = head[HEAD.from];
    return {
      text: new Uint8Array(buffer, base + n.text + from, head[HEAD.end] - from),
      linesEnd: head[HEAD.linesEnd] - from,
      rows: head[HEAD.rows],
      columns: columns[slot],
      oddCells: new Uint32Array(buffer, base + n.oddCells, 2 * head[HEAD.oddCells]),
      oddLines: new Uint32Array(buffer, base + n.oddLines, 2 * head[HEAD.oddLines]),
    };
  };
}
