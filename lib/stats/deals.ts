import {requireWhole} from "./check.ts";

/** Labels of n places: 0 or 1. */
export type Labels = ArrayLike<number>;

/**
 * Every way to give `ones` of `n` places the label 1, in lexicographic order of the places; C(n, ones) of them.
 *
 * @throws {RangeError} n or ones is not a whole number ≥ 0, or ones > n
 */
export function* splits(n: number, ones: number): Generator<Int8Array> {
  requireWhole("splits", n, "n");
  requireWhole("splits", ones, "ones", 0);
  if (ones > n) throw new RangeError(`splits: ${ones} labels 1 do not fit ${n} places`);
  const places = Array.from({length: ones}, (_, i) => i);
  for (;;) {
    const deal = new Int8Array(n);
    for (const place of places) deal[place] = 1;
    yield deal;
    let i = ones - 1;
    while (i >= 0 && places[i] === n - ones + i) i--;
    if (i < 0) return;
    places[i]++;
    for (let j = i + 1; j < ones; j++) places[j] = places[j - 1] + 1;
  }
}

/**
 * Every way to flip each of `nPairs` pairs (places 2k and 2k + 1) or not; 2^nPairs of them. With the pairs as terms of the
 * model this is the sign-flip test of paired differences.
 *
 * @throws {RangeError} nPairs is not a whole number from 1 to 30
 */
export function* pairFlips(nPairs: number): Generator<Int8Array> {
  requireWhole("pairFlips", nPairs, "nPairs");
  if (nPairs > 30) throw new RangeError(`pairFlips: 2^${nPairs} deals cannot be listed; draw them by lot`);
  for (let pattern = 0; pattern < 2 ** nPairs; pattern++) {
    const deal = new Int8Array(2 * nPairs);
    for (let pair = 0; pair < nPairs; pair++) deal[2 * pair + ((pattern >> pair) & 1)] = 1;
    yield deal;
  }
}
