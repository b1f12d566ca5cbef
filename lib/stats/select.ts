/** Shorter stretches are searched without a sample of their own. */
const SHORT = 600;

/**
 * Puts the value that would stand at index k in ascending order there, no larger ones before it and no smaller ones after it.
 *
 * R. W. Floyd and R. L. Rivest, Commun. ACM 18 (1975) 173, algorithm 489 (from memory): about n + min(k, n − k) comparisons.
 *
 * @param values finite numbers, reordered in place
 * @param k      0 ≤ k < n
 * @returns values[k]
 */
export function selectInPlace(values: Float64Array, k: number, from = 0, to = values.length - 1): number {
  let left = from;
  let right = to;
  while (right > left) {
    if (right - left > SHORT) {
      // narrow the stretch first, by two values of a sample that lie to either side of the one sought
      const n = right - left + 1;
      const i = k - left + 1;
      const z = Math.log(n);
      const s = 0.5 * Math.exp((2 * z) / 3);
      const spread = 0.5 * Math.sqrt((z * s * (n - s)) / n) * (i < n / 2 ? -1 : 1);
      const lower = Math.max(left, Math.floor(k - (i * s) / n + spread));
      const upper = Math.min(right, Math.floor(k + ((n - i) * s) / n + spread));
      selectInPlace(values, k, lower, upper);
    }
    const pivot = values[k];
    let i = left;
    let j = right;
    swap(values, left, k);
    if (values[right] > pivot) swap(values, left, right);
    while (i < j) {
      swap(values, i, j);
      i++;
      j--;
      while (values[i] < pivot) i++;
      while (values[j] > pivot) j--;
    }
    if (values[left] === pivot) swap(values, left, j);
    else {
      j++;
      swap(values, j, right);
    }
    if (j <= k) left = j + 1;
    if (k <= j) right = j - 1;
  }
  return values[k];
}

function swap(values: Float64Array, i: number, j: number): void {
  const kept = values[i];
  values[i] = values[j];
  values[j] = kept;
}
