/** Which line of the file each row stands in. */
export interface LineMap {
  /** rows come in order, 0, 1, … */
  add(row: number, line: number): void;
  lineOf(row: number): number;
}

/** A map that keeps an entry only where a line was skipped, so that millions of rows cost nothing. */
export function createLineMap(): LineMap {
  const firstRows: number[] = [];
  const shifts: number[] = [];
  return {
    add(row, line) {
      if (shifts.length === 0 || shifts[shifts.length - 1] !== line - row) {
        firstRows.push(row);
        shifts.push(line - row);
      }
    },
    lineOf(row) {
      let low = 0;
      let high = firstRows.length - 1;
      while (low < high) {
        const middle = (low + high + 1) >> 1;
        if (firstRows[middle] <= row) low = middle;
        else high = middle - 1;
      }
      return row + (shifts[low] ?? 1);
    },
  };
}
