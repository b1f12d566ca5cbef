/** What a progress bar needs of a stream. */
export interface Terminal {
  isTTY?: boolean;
  columns?: number;
  write(text: string): unknown;
}

export interface Progress {
  /** Shows how far the work is: `share` between 0 and 1, and what is being done. */
  show(share: number, words: string): void;
  /** Takes the bar away, so that a line can be printed in its place. */
  clear(): void;
}

/** Cells of the bar itself; the words get the rest of the line. */
const BAR_CELLS = 24;
const ESCAPE = "\u001b";

/**
 * A progress bar in the last line of a terminal. In a pipe or a file it shows nothing: there the lines of the results
 * tell how far the work is.
 */
export function progressBar(terminal: Terminal): Progress {
  if (!terminal.isTTY) return {show: () => {}, clear: () => {}};
  return {
    show(share, words) {
      const filled = Math.round(Math.min(Math.max(share, 0), 1) * BAR_CELLS);
      const line = `${"█".repeat(filled)}${"░".repeat(BAR_CELLS - filled)} ${words}`;
      // a line as wide as the terminal would wrap, and the next one could not be written over it
      terminal.write(`\r${ESCAPE}[2K${line.slice(0, (terminal.columns ?? 80) - 1)}`);
    },
    clear() {
      terminal.write(`\r${ESCAPE}[2K`);
    },
  };
}
