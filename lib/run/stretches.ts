/** A stretch of samples, `end` exclusive. */
export interface Stretch {
  first: number;
  end: number;
}

/** Stretches of places, of n, where something holds. */
export function stretches(n: number, holds: (i: number) => boolean): Stretch[] {
  const found: Stretch[] = [];
  for (let i = 0; i < n; i++) {
    if (!holds(i)) continue;
    const last = found.at(-1);
    if (last?.end === i) last.end = i + 1;
    else found.push({first: i, end: i + 1});
  }
  return found;
}
