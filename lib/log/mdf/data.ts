import {inflateSync} from "node:zlib";
import {damaged} from "../damaged.ts";
import {requirePossibleSize} from "../decoded-size.ts";
import {PIECE_BYTES} from "../source.ts";
import {type Block, type Blocks, uint64, visit} from "./block.ts";

/** A stretch of records in the file. */
export interface Extent {
  at: number;
  bytes: number;
  /** bytes after decompression */
  plainBytes: number;
  /** null = as it is; else deflated, with the bytes of a row where it was transposed */
  deflated: {rowBytes: number | null} | null;
}

/** Deflate cannot make more than so many bytes out of one (zlib's technical details). */
const DEFLATE_RATIO = 1032;

/**
 * Where the records of a data group are: one block, or lists of blocks, compressed or not.
 *
 * @param at link of the data group; 0 = no records
 */
export function dataExtents(blocks: Blocks, at: number): Extent[] {
  const extents: Extent[] = [];
  const seen = new Set<number>();
  if (at === 0) return extents;
  let first = visit(blocks, seen, at, ["DT", "DV", "DZ", "DL", "LD", "HL"]);
  if (first.id === "HL" && first.links.length > 0 && first.links[0] !== 0) {
    first = visit(blocks, seen, first.links[0], ["DL"]);
  }
  if (first.id === "DL" || first.id === "LD") readList(blocks, first, seen, extents);
  else if (first.id !== "HL") extents.push(extentOf(blocks, first));
  return extents;
}

function readList(blocks: Blocks, first: Block, seen: Set<number>, extents: Extent[]): void {
  for (let list = first; ; ) {
    // An LD block lists invalidation data behind its values; both kinds of list begin with the next list and the values.
    const view = blocks.body(list, 8);
    const count = Math.min(view.getUint32(4, true), list.links.length - 1);
    for (const link of list.links.slice(1, 1 + count)) {
      if (link === 0) continue;
      extents.push(extentOf(blocks, visit(blocks, seen, link, ["DT", "DV", "DZ"])));
    }
    if (!list.links[0]) return;
    list = visit(blocks, seen, list.links[0], [first.id]);
  }
}

function extentOf(blocks: Blocks, block: Block): Extent {
  const {bodyAt, bodyBytes} = block;
  if (block.id !== "DZ") return {at: bodyAt, bytes: bodyBytes, plainBytes: bodyBytes, deflated: null};
  const {file} = blocks.source;
  const place = `the DZ block at byte ${block.at}`;
  if (bodyBytes < 24) throw damaged(file, `${place} has less data than such a block needs`);
  const head = blocks.source.read(bodyAt, 24);
  const view = new DataView(head.buffer, head.byteOffset, head.byteLength);
  const kind = view.getUint8(2);
  if (kind > 1) {
    throw damaged(
      file,
      `${place} is compressed by method ${kind}, known are deflate (0) and transposed deflate (1)`,
      "export the log without compression",
    );
  }
  const rowBytes = view.getUint32(4, true);
  const plainBytes = uint64(view, 8);
  const bytes = uint64(view, 16);
  if (bytes > bodyBytes - 24) throw damaged(file, `${place} is cut`);
  if (plainBytes > DEFLATE_RATIO * bytes) {
    throw damaged(file, `${place} claims ${plainBytes} bytes out of ${bytes}, which deflate cannot do`);
  }
  if (kind === 1 && rowBytes === 0) throw damaged(file, `${place} is transposed by rows of 0 bytes`);
  return {at: bodyAt + 24, bytes, plainBytes, deflated: {rowBytes: kind === 1 ? rowBytes : null}};
}

/** Bytes of all records together, after decompression. */
export function plainBytes(blocks: Blocks, extents: Extent[]): number {
  const total = extents.reduce((sum, extent) => sum + extent.plainBytes, 0);
  requirePossibleSize(blocks.source, total, "the records");
  return total;
}

/** The records piece by piece; a record may begin in one piece and end in the next. */
export function* dataPieces(blocks: Blocks, extents: Extent[]): Generator<Uint8Array> {
  for (const extent of extents) {
    if (extent.deflated) {
      yield inflated(blocks, extent, extent.deflated.rowBytes);
      continue;
    }
    for (let done = 0; done < extent.bytes; done += PIECE_BYTES) {
      yield blocks.source.read(extent.at + done, Math.min(PIECE_BYTES, extent.bytes - done));
    }
  }
}

function inflated(blocks: Blocks, extent: Extent, rowBytes: number | null): Uint8Array {
  const {at, bytes, plainBytes} = extent;
  let plain: Uint8Array;
  try {
    // one byte more than claimed, so that too much is seen and nothing beyond it is made
    plain = inflateSync(blocks.source.read(at, bytes), {maxOutputLength: plainBytes + 1});
  } catch {
    throw damaged(blocks.source.file, `the compressed records at byte ${at} cannot be decompressed`);
  }
  if (plain.length !== plainBytes) {
    throw damaged(
      blocks.source.file,
      `the compressed records at byte ${at} should have ${plainBytes} bytes, they have ${plain.length}`,
    );
  }
  return rowBytes === null ? plain : untransposed(plain, rowBytes);
}

/** Bytes that were stored column by column, row by row again; what fills no row stays at the end. */
function untransposed(bytes: Uint8Array, rowBytes: number): Uint8Array {
  const rows = Math.floor(bytes.length / rowBytes);
  const plain = new Uint8Array(bytes.length);
  let from = 0;
  for (let column = 0; column < rowBytes && rows > 0; column++) {
    for (let row = 0; row < rows; row++) plain[row * rowBytes + column] = bytes[from++];
  }
  plain.set(bytes.subarray(from), from);
  return plain;
}
