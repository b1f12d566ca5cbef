import type {ParseRows, Places} from "./row-memory.ts";

/** Fills `into` with bytes of the text from `at` on; returns how many, 0 at its end. */
export type ReadInto = (into: Uint8Array, at: number) => number;

/** Numbers at the head of a slot: three counts by the kernel, then where its lines start, where they end, where its text ends. */
export const HEAD = {rows: 0, oddCells: 1, oddLines: 2, from: 3, linesEnd: 4, end: 5};

/**
 * Makes the function that reads block `block` of a text into a slot and has its lines parsed: those that start in the
 * block, to their ends. It returns false where the last of them has no end within the longest line, and leaves that one out.
 *
 * Threads get this function as text: it uses nothing that is not handed to it.
 */
export function blockParser(
  parseRows: ParseRows,
  buffer: ArrayBufferLike,
  n: Places,
  read: ReadInto,
): (block: number, slot: number) => boolean {
  const bytes = new Uint8Array(buffer);
  const heads = new Uint32Array(buffer);
  return (block, slot) => {
    const base = n.firstSlot + slot * n.slotBytes;
    const text = base + n.text;
    const before = block === 0 ? 0 : 1; // the line before may end there, and then one starts with the block
    const at = n.start + block * n.blockBytes - before;
    const blockEnd = Math.min(n.blockBytes + before, n.size - at);
    const most = Math.min(blockEnd + n.longestLine, n.size - at);
    let length = 0;
    let ended = false;
    let whole = true;
    const fillTo = (wanted: number): void => {
      while (length < wanted && !ended) {
        const count = read(bytes.subarray(text + length, text + wanted), at + length);
        length += count;
        ended = count === 0; // the file became shorter
      }
    };
    /** Place behind the first newline at `i` or later, or 0. */
    const behindNewline = (i: number): number => {
      for (let k = i; ; k++) {
        if (k >= length) fillTo(Math.min(length + 16 * n.tailBytes, most));
        if (k >= length) return 0;
        if (bytes[text + k] === n.newline) return k + 1;
      }
    };
    fillTo(Math.min(blockEnd + n.tailBytes, most));
    let from = before === 0 ? 0 : behindNewline(0);
    let to = 0;
    let end = 0;
    if (before === 1 && (from === 0 || from >= blockEnd)) from = 0;
    else {
      to = behindNewline(blockEnd - 1);
      end = to;
      if (to === 0) {
        whole = ended || at + length >= n.size;
        for (to = length; to > from && bytes[text + to - 1] !== n.newline; ) to--;
        end = whole ? length : to;
      }
    }
    heads[(base >> 2) + 3] = from;
    heads[(base >> 2) + 4] = to;
    heads[(base >> 2) + 5] = end;
    parseRows(
      text + from,
      text + to,
      n.fields,
      n.separator,
      n.decimal,
      n.newline,
      n.plain,
      n.powers,
      base + n.columns,
      n.stride,
      base + n.oddCells,
      base + n.oddLines,
      base,
    );
    return whole;
  };
}
