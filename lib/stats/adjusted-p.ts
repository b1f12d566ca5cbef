/**
 * Adjusted p-values that keep the chance of any false alarm at the level they are compared with, whatever the dependence
 * (S. Holm, Scand. J. Statist. 6 (1979) 65).
 *
 * @param p any number of p-values in any order
 * @returns adjusted p-values in the same order, at most 1
 * @throws {RangeError} a p outside 0 … 1
 */
export function holm(p: ArrayLike<number>): Float64Array {
  const order = ascending("holm", p);
  const adjusted = new Float64Array(p.length);
  let largest = 0;
  order.forEach((at, rank) => {
    largest = Math.max(largest, Math.min(1, (p.length - rank) * p[at]));
    adjusted[at] = largest;
  });
  return adjusted;
}

/**
 * Adjusted p-values that keep the expected share of false alarms among all alarms at the level they are compared with, for
 * independent or positively dependent tests (Y. Benjamini and Y. Hochberg, J. R. Stat. Soc. B 57 (1995) 289).
 *
 * @returns adjusted p-values in the order given, at most 1
 * @throws {RangeError} a p outside 0 … 1
 */
export function benjaminiHochberg(p: ArrayLike<number>): Float64Array {
  const order = ascending("benjaminiHochberg", p);
  const adjusted = new Float64Array(p.length);
  let smallest = 1;
  for (let rank = order.length - 1; rank >= 0; rank--) {
    smallest = Math.min(smallest, (p.length / (rank + 1)) * p[order[rank]]);
    adjusted[order[rank]] = smallest;
  }
  return adjusted;
}

function ascending(caller: string, p: ArrayLike<number>): Uint32Array {
  for (let i = 0; i < p.length; i++) {
    if (!(p[i] >= 0 && p[i] <= 1)) {
      throw new RangeError(`${caller}: p must lie from 0 to 1, but p[${i}] is ${p[i]}`);
    }
  }
  return Uint32Array.from({length: p.length}, (_, i) => i).sort((i, j) => p[i] - p[j]);
}
