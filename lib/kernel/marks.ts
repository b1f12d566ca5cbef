import {writeSync} from "node:fs";

/** Written to the real output streams at the end of a cell, so that the parent knows what belongs to which cell. */
const MARK = "\u0000end of cell\n";
const STREAMS = [1, 2];

/**
 * Marks the end of a cell on both output streams of this process.
 *
 * @returns number of streams that took the mark; a cell may have closed one
 */
export function writeMarks(): number {
  return STREAMS.filter(descriptor => {
    for (;;) {
      try {
        writeSync(descriptor, MARK);
        return true;
      } catch (error) {
        if ((error as NodeJS.ErrnoException).code !== "EAGAIN") return false; // EAGAIN: the parent is still reading
      }
    }
  }).length;
}

/** Tells texts from marks in what arrives on one stream, however it is cut into chunks. */
export function readMarks(onText: (text: string) => void, onMark: () => void): (chunk: string) => void {
  let held = "";
  return chunk => {
    const parts = (held + chunk).split(MARK);
    const last = parts.pop()!;
    for (const part of parts) {
      if (part !== "") onText(part);
      onMark();
    }
    const start = last.lastIndexOf(MARK[0]!);
    const cut = start >= 0 && MARK.startsWith(last.slice(start)) ? start : last.length;
    held = last.slice(cut);
    if (cut > 0) onText(last.slice(0, cut));
  };
}
