import {type ByteSource, memorySource, PIECE_BYTES} from "./source.ts";

/** A text whose cells do not run over several lines, and the line of the file that one of its lines begins in. */
export interface UnbrokenText {
  source: ByteSource;
  /** lines counted from 1 */
  lineOf(line: number): number;
}

const [QUOTE, LF, CR, BLANK] = [34, 10, 13, 32];
/** A quoted cell with line breaks is no longer than this; an unpaired quote ends nowhere [bytes]. */
const LONGEST_CELL = 1 << 14;
/** Texts larger than this are walked through as they are: what has to be joined would have to be in memory. */
const MOST_BYTES = 512 << 20;

/**
 * The text with the line breaks inside quoted cells as blanks. As RFC 4180 has it, such a cell begins with a quote behind a
 * separator or a line break, has its own quotes doubled, and ends with a quote before a separator or a line break; a quote that
 * does not is a character like others.
 *
 * @param separators bytes that may separate cells
 */
export function withoutQuotedBreaks(source: ByteSource, separators: readonly number[]): UnbrokenText {
  const same = {source, lineOf: (line: number) => line};
  if (source.size > MOST_BYTES || !hasQuote(source)) return same;
  const bytes = source.read(0, source.size);
  const isEnd = (byte: number | undefined) =>
    byte === undefined || byte === LF || byte === CR || separators.includes(byte);
  /** places of the breaks, in order */
  const breaks: number[] = [];
  let at = bytes.indexOf(QUOTE);
  while (at >= 0) {
    let before = at - 1;
    while (bytes[before] === BLANK) before--;
    const end = isEnd(bytes[before]) ? endOfQuoted(bytes, at, isEnd) : null;
    if (end === null) {
      at = bytes.indexOf(QUOTE, at + 1);
      continue;
    }
    for (let i = at; i < end; i++) if (bytes[i] === LF || bytes[i] === CR) breaks.push(i);
    at = bytes.indexOf(QUOTE, end + 1);
  }
  if (breaks.length === 0) return same;
  const text = bytes.slice();
  for (const place of breaks) text[place] = BLANK;
  return {
    source: {...memorySource(source.file, text), seen: seenOf(source, bytes)},
    lineOf: lineCounter(text, bytes, breaks),
  };
}

function hasQuote(source: ByteSource): boolean {
  for (let at = 0; at < source.size; at += PIECE_BYTES)
    if (source.read(at, PIECE_BYTES).includes(QUOTE)) return true;
  return false;
}

/** Place of the quote that ends the cell which the one at `at` begins, or null. */
function endOfQuoted(
  bytes: Uint8Array,
  at: number,
  isEnd: (byte: number | undefined) => boolean,
): number | null {
  for (let i = at + 1; i < bytes.length && i < at + LONGEST_CELL; i++) {
    if (bytes[i] !== QUOTE) continue;
    if (bytes[i + 1] === QUOTE) i++;
    else {
      let behind = i + 1;
      while (bytes[behind] === BLANK) behind++;
      return isEnd(bytes[behind]) ? i : null;
    }
  }
  return null;
}

/** The file is hashed by its own bytes. */
function seenOf(source: ByteSource, bytes: Uint8Array): ByteSource["seen"] {
  return (at, piece) => source.seen?.(at, bytes.subarray(at, at + piece.length));
}

/** Lines of the file by those of the text, in which the breaks at some places are none. */
function lineCounter(
  text: Uint8Array,
  bytes: Uint8Array,
  breaks: readonly number[],
): (line: number) => number {
  const newline = bytes.includes(LF) ? LF : CR;
  const joined: number[] = []; // line of the text that each break was in
  let line = 1;
  let at = 0;
  for (const place of breaks) {
    if (bytes[place] !== newline) continue;
    for (let next = text.indexOf(newline, at); next >= 0 && next < place; next = text.indexOf(newline, at)) {
      line++;
      at = next + 1;
    }
    joined.push(line);
  }
  return wanted => {
    let [low, high] = [0, joined.length];
    while (low < high) {
      const middle = (low + high) >> 1;
      if (joined[middle] < wanted) low = middle + 1;
      else high = middle;
    }
    return wanted + low;
  };
}
