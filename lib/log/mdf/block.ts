import {damaged} from "../damaged.ts";
import type {ByteSource} from "../source.ts";
import {cleanText, textOf} from "../text.ts";

/** Start of a block: id, 4 reserved bytes, length, number of links. */
const HEADER_BYTES = 24;
/** More of a text is not read: names and units are short. */
const TEXT_BYTES = 1 << 14;

/** One block of an MDF 4 file, with the place of its data part. */
export interface Block {
  /** two letters, without "##" */
  id: string;
  /** byte of the file where it starts */
  at: number;
  /** bytes of the file it points to; 0 = nowhere */
  links: number[];
  bodyAt: number;
  bodyBytes: number;
}

/** Blocks of a file, every one checked before it is used. */
export interface Blocks {
  source: ByteSource;
  /**
   * Block at a place of the file.
   *
   * @throws {InputError} 1: outside the file, not at a multiple of 8, another kind of block, longer than the file
   */
  open(at: number, ids: string[]): Block;
  /** Data part of a block, at least `least` bytes. */
  body(block: Block, least: number): DataView;
  /** Text of a TX block, or of the first TX element of an MD block; null for link 0 and for no text. */
  text(at: number): string | null;
}

export function openBlocks(source: ByteSource): Blocks {
  const texts = new Map<number, string | null>();
  const blocks: Blocks = {source, open, body, text};
  return blocks;

  function open(at: number, ids: string[]): Block {
    const place = `the block at byte ${at}`;
    if (at % 8 !== 0) throw damaged(source.file, `${place} does not start at a multiple of 8`);
    if (!(at >= 64 && at + HEADER_BYTES <= source.size)) {
      throw damaged(
        source.file,
        `a block at byte ${at} is pointed to, but the file has ${source.size} bytes`,
      );
    }
    const head = viewOf(source.read(at, HEADER_BYTES));
    const id = String.fromCharCode(...[0, 1, 2, 3].map(i => head.getUint8(i)));
    if (!ids.includes(id.slice(2)) || !id.startsWith("##")) {
      const found = JSON.stringify(id.replace(/[^\x20-\x7e]/g, "?"));
      throw damaged(source.file, `${place} should be a ${ids.join(" or ")} block, found ${found}`);
    }
    const length = uint64(head, 8);
    const count = uint64(head, 16);
    if (!(at + length <= source.size)) {
      throw damaged(
        source.file,
        `${place} is ${length} bytes long and goes beyond the end of the file: the file is cut`,
      );
    }
    const bodyAt = at + HEADER_BYTES + 8 * count;
    if (!(bodyAt <= at + length)) throw damaged(source.file, `${place} is too short for its ${count} links`);
    const view = viewOf(source.read(at + HEADER_BYTES, 8 * count));
    const links = Array.from({length: count}, (_, i) => uint64(view, 8 * i));
    return {id: id.slice(2), at, links, bodyAt, bodyBytes: at + length - bodyAt};
  }

  function body(block: Block, least: number): DataView {
    if (block.bodyBytes < least) {
      throw damaged(
        source.file,
        `the ${block.id} block at byte ${block.at} has less data than such a block needs`,
      );
    }
    return viewOf(source.read(block.bodyAt, block.bodyBytes));
  }

  function text(at: number): string | null {
    if (at === 0) return null;
    const known = texts.get(at);
    if (known !== undefined) return known;
    const block = open(at, ["TX", "MD"]);
    const bytes = source.read(block.bodyAt, Math.min(block.bodyBytes, TEXT_BYTES));
    const end = bytes.indexOf(0);
    const written = textOf(end < 0 ? bytes : bytes.subarray(0, end));
    const found = cleanText(block.id === "MD" ? textElement(written) : written) || null;
    texts.set(at, found);
    return found;
  }
}

export function viewOf(bytes: Uint8Array): DataView {
  return new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
}

/** A count or place; beyond 2⁵³ it is rounded, which no file is long enough to notice. */
export function uint64(view: DataView, at: number): number {
  return view.getUint32(at + 4, true) * 2 ** 32 + view.getUint32(at, true);
}

/**
 * Visits a chain of blocks.
 *
 * @param seen places visited so far in this file; one that comes again is a loop
 */
export function visit(blocks: Blocks, seen: Set<number>, at: number, ids: string[]): Block {
  if (seen.has(at))
    throw damaged(blocks.source.file, `the block at byte ${at} is reached twice: its links run in a circle`);
  seen.add(at);
  return blocks.open(at, ids);
}

const ENTITIES: Record<string, string> = {
  "&lt;": "<",
  "&gt;": ">",
  "&quot;": '"',
  "&apos;": "'",
  "&amp;": "&",
};

/** Text of the first <TX> of a comment in XML, the five entities of XML itself put right. */
function textElement(xml: string): string {
  const start = /<TX(?:\s[^<>]*)?>/.exec(xml);
  if (!start) return "";
  const inner = xml.slice(start.index + start[0].length);
  const end = inner.indexOf("</TX>");
  return (end < 0 ? "" : inner.slice(0, end)).replace(
    /&(?:lt|gt|quot|apos|amp);/g,
    entity => ENTITIES[entity],
  );
}
