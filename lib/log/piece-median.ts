import {medianInPlace} from "../stats/quantile.ts";
import {forEachPiece, type Values} from "./values.ts";

/** Bits of a double that each look through the values settles, from the top. */
const LOOKS = [22, 21, 21];

/**
 * Values at two places of the finite ones in ascending order, without holding them: each look counts them by some more of
 * their bits.
 *
 * @param placesOf places wanted of so many values, counted from 0
 * @returns null where no value is finite
 */
export function orderedValues(
  values: Values,
  placesOf: (count: number) => [number, number],
): [number, number] | null {
  const look = valueAt(values, count => placesOf(count)[0]);
  if (look === null) return null;
  const {value, repeated, count} = look;
  const [low, high] = placesOf(count);
  return [value, high - low <= repeated ? value : valueAt(values, () => high)!.value];
}

/** Middle of the values, the mean of two where they are even in number; null where none is finite. */
export function medianOfPieces(values: Values): number | null {
  if (values.array) {
    const finite = values.array.filter(Number.isFinite);
    return finite.length === 0 ? null : medianInPlace(finite);
  }
  const middle = orderedValues(values, count => [(count - 1) >> 1, count >> 1]);
  return middle && (middle[0] === middle[1] ? middle[0] : between(...middle));
}

/** As `medianInPlace` has it, to the last bit. */
function between(low: number, high: number): number {
  return Math.min(Math.max(0.5 * low + 0.5 * high, low), high);
}

/** Value at a place, how many places behind it have the same, and how many values are finite. */
function valueAt(
  values: Values,
  placeOf: (count: number) => number,
): {value: number; repeated: number; count: number} | null {
  const pair = new Float64Array(1);
  const words = new Uint32Array(pair.buffer);
  const counts = new Uint32Array(1 << LOOKS[0]);
  let rest = 0;
  let repeated = 0;
  let count = 0;
  // bits of ascending doubles ascend, once the negative ones are turned round
  let [top, middle] = [0, 0];
  for (let look = 0; look < LOOKS.length; look++) {
    counts.fill(0);
    forEachPiece(values, piece => {
      for (let i = 0; i < piece.length; i++) {
        const value = piece[i];
        if (value - value !== 0) continue;
        if (look === 0) count++;
        pair[0] = value;
        const negative = words[1] >>> 31 === 1;
        const upper = negative ? ~words[1] >>> 0 : (words[1] | 0x80000000) >>> 0;
        const lower = negative ? ~words[0] >>> 0 : words[0];
        const a = upper >>> 10;
        if (look === 0) counts[a]++;
        else if (a === top) {
          const b = (((upper & 0x3ff) << 11) | (lower >>> 21)) >>> 0;
          if (look === 1) counts[b]++;
          else if (b === middle) counts[lower & 0x1fffff]++;
        }
      }
    });
    if (look === 0) {
      if (count === 0) return null;
      rest = placeOf(count);
    }
    let at = 0;
    while (rest >= counts[at]) rest -= counts[at++];
    if (look === 0) top = at;
    else if (look === 1) middle = at;
    else {
      repeated = counts[at] - rest - 1;
      const upper = (top << 10) | (middle >>> 11);
      const lower = ((middle & 0x7ff) << 21) | at;
      const negative = upper >= 0;
      words[1] = negative ? ~upper : upper & 0x7fffffff;
      words[0] = negative ? ~lower : lower;
    }
  }
  return {value: pair[0], repeated, count};
}
