import {normalUpperTail} from "./distributions.ts";

/**
 * Null distribution of a count from 0 to `most`, symmetric about most/2: the probability of each count, or the variance
 * where there are too many to list.
 */
export interface RankDistribution {
  most: number;
  probabilities: Float64Array | null;
  variance: number;
}

/** Listing costs the product of both sizes and of their product: 0.1 s at this one. */
const MOST_PAIRS = 6400;
/** And for all orders of n values a fifth of n⁴ … 0.1 s here. */
const MOST_ORDERED = 150;
/** And for signed ranks n³. */
const MOST_SIGNED = 300;

/**
 * Number of pairs (one of m, one of n) in which the second is smaller, when both samples come from one continuous
 * distribution (H. B. Mann and D. R. Whitney, Ann. Math. Statist. 18 (1947) 50).
 *
 * The largest of all values is of the first sample with probability m/(m + n).
 */
export function mannWhitney(m: number, n: number): RankDistribution {
  const variance = (m * n * (m + n + 1)) / 12;
  if (m * n > MOST_PAIRS) return {most: m * n, probabilities: null, variance};
  // rows[j]: the distribution for i values of the first sample and j of the second
  let rows = Array.from({length: n + 1}, () => Float64Array.of(1));
  for (let i = 1; i <= m; i++) {
    const next = [Float64Array.of(1)];
    for (let j = 1; j <= n; j++) {
      const probabilities = new Float64Array(i * j + 1);
      const first = rows[j]; // the largest is of the first sample: all j are smaller
      const second = next[j - 1];
      for (let u = 0; u < first.length; u++) probabilities[u + j] += (i * first[u]) / (i + j);
      for (let u = 0; u < second.length; u++) probabilities[u] += (j * second[u]) / (i + j);
      next.push(probabilities);
    }
    rows = next;
  }
  return {most: m * n, probabilities: rows[n], variance};
}

/**
 * Number of pairs in ascending order, over all orders of values that fall into groups; pairs within a group do not
 * count (M. G. Kendall, Rank Correlation Methods, 1955, ch. 5, from memory). Groups of one: Kendall's S = 2·count − most.
 *
 * Each group joins those before it as one sample joins another.
 */
export function concordantPairs(groups: readonly number[]): RankDistribution {
  let joined = 0;
  let most = 0;
  let variance = 0;
  let probabilities: Float64Array | null = Float64Array.of(1);
  const total = groups.reduce((sum, size) => sum + size, 0);
  for (const size of groups) {
    const part =
      joined === 0 ? {most: 0, probabilities: Float64Array.of(1), variance: 0} : mannWhitney(joined, size);
    most += part.most;
    variance += part.variance;
    joined += size;
    if (probabilities === null || part.probabilities === null || total > MOST_ORDERED) probabilities = null;
    else probabilities = convolve(probabilities, part.probabilities);
  }
  return {most, probabilities, variance};
}

/** Sum of the ranks 1 … n that get a positive sign, every sign by lot (F. Wilcoxon, Biometrics Bull. 1 (1945) 80). */
export function signedRank(n: number): RankDistribution {
  const most = (n * (n + 1)) / 2;
  const variance = (n * (n + 1) * (2 * n + 1)) / 24;
  if (n > MOST_SIGNED) return {most, probabilities: null, variance};
  const probabilities = new Float64Array(most + 1);
  probabilities[0] = 1;
  for (let rank = 1; rank <= n; rank++) {
    for (let sum = most; sum >= 0; sum--) {
      probabilities[sum] = (probabilities[sum] + (sum >= rank ? probabilities[sum - rank] : 0)) / 2;
    }
  }
  return {most, probabilities, variance};
}

/**
 * Largest count k with P(count ≤ k) ≤ (1 − level)/2, and 1 − 2P(count ≤ k), the level that is reached: the interval of
 * a rank method leaves out the k + 1 outermost values on each side but one. Normal approximation with a half step where the distribution
 * is not listed.
 *
 * @returns null where even k = 0 is too much
 */
export function rankCut(
  {most, probabilities, variance}: RankDistribution,
  level: number,
): {cut: number; level: number} | null {
  let tail = 0;
  let found: {cut: number; level: number} | null = null;
  for (let k = 0; k <= most / 2; k++) {
    tail =
      probabilities === null
        ? normalUpperTail((most / 2 - k - 0.5) / Math.sqrt(variance))
        : tail + probabilities[k];
    if (2 * tail > 1 - level + ROUNDING) break;
    found = {cut: k, level: 1 - 2 * tail};
  }
  return found;
}

/** Sums of probabilities that should equal a level miss it by this. */
const ROUNDING = 1e-12;

function convolve(a: Float64Array, b: Float64Array): Float64Array {
  const result = new Float64Array(a.length + b.length - 1);
  for (let i = 0; i < a.length; i++) for (let j = 0; j < b.length; j++) result[i + j] += a[i] * b[j];
  return result;
}
