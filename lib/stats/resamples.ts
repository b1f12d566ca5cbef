/**
 * Number of different resamples of n values, C(2n − 1, n): which values were drawn how often, whatever the order.
 * 10 at n = 3, 462 at n = 6, 92378 at n = 10; `Infinity` where a double cannot hold it.
 *
 * @param draws default n; C(n + draws − 1, draws) for another number
 */
export function countMultisets(n: number, draws = n): number {
  let count = 1;
  for (let i = 1; i < n; i++) count = Math.round((count * (draws + i)) / i);
  return count;
}

/**
 * Visits every resample of n values once: how often each value was drawn, and the probability of that.
 *
 * The probability is multinomial, n!/(k₁!…kₙ!)/nⁿ (P. Hall, The Bootstrap and Edgeworth Expansion, 1992, app. I). The
 * array of counts is the same one at every visit.
 *
 * @param n     number of values, ≥ 1
 * @param draws how many are drawn, at most 255, default n
 */
export function forEachMultiset(
  n: number,
  visit: (counts: Uint8Array, weight: number) => void,
  draws = n,
): void {
  const counts = new Uint8Array(n);
  let whole = 1;
  for (let k = 1; k <= draws; k++) whole *= k / n; // draws!/n^draws
  const place = (at: number, left: number, weight: number): void => {
    if (at === n - 1) {
      counts[at] = left;
      let last = weight;
      for (let k = 2; k <= left; k++) last /= k;
      visit(counts, last);
      return;
    }
    let share = weight;
    for (let k = 0; k <= left; k++) {
      if (k > 1) share /= k;
      counts[at] = k;
      place(at + 1, left - k, share);
    }
  };
  place(0, draws, whole);
}
