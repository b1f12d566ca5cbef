/** A channel that changes fewer times than this in a run is taken as it stands: it may really be constant. */
const LEAST_CHANGES = 4;
/** A channel that repeats itself in more than this share of rows is held between refreshes. */
const HELD_SHARE = 0.4;
/** A value that stays for longer than so many usual holds was refreshed with the same value. */
const LONG_HOLD = 2;

/**
 * Rows at which a channel was really refreshed. Many recorders write a row whenever any channel arrives and repeat the rest; the
 * repeats are no measurements. Where a channel mostly repeats itself, the rows at which it changes are kept, and within a hold longer than
 * twice the usual one a row every usual hold.
 *
 * @param values one channel; NaN where nothing was read
 * @param first  first row of the run
 * @param end    row behind its last
 */
export function refreshedRows(values: ArrayLike<number>, first: number, end: number): number[] {
  const rows: number[] = [];
  for (let i = first; i < end; i++) if (Number.isFinite(values[i])) rows.push(i);
  const changes = rows.filter((row, k) => k > 0 && values[row] !== values[rows[k - 1]]);
  if (changes.length < LEAST_CHANGES || changes.length >= (1 - HELD_SHARE) * (rows.length - 1)) return rows;
  const holds = changes.slice(1).map((row, k) => row - changes[k]);
  const usual = [...holds].sort((a, b) => a - b)[holds.length >> 1];
  const kept: number[] = [];
  changes.forEach((row, k) => {
    const next = k + 1 < changes.length ? changes[k + 1] : rows[rows.length - 1] + 1;
    kept.push(row);
    if (next - row > LONG_HOLD * usual) {
      for (let again = row + usual; again <= next - usual; again += usual) {
        if (Number.isFinite(values[again])) kept.push(again);
      }
    }
  });
  return kept;
}
