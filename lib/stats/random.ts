import {createHash} from "node:crypto";
import {requireWhole} from "./check.ts";
import {splitMix64, Xoshiro256} from "./xoshiro.ts";

/** A stream of random numbers that its seed and name determine, on every machine alike. */
export interface Random {
  /** uniform on [0, 1), all multiples of 2⁻⁵³ equally likely */
  uniform(): number;
  /**
   * whole number 0 … n − 1, all equally likely (surplus words are drawn again, so no bias of the remainder)
   * @throws {RangeError} n is not a whole number from 1 to 2³²
   */
  integer(n: number): number;
  /**
   * adds to each pair of numbers in `sums` one pair of `table`, all equally likely: many draws, several times faster than by
   * `integer`
   * @throws {RangeError} the table does not hold 1 to 2¹⁶ pairs, or the sums are no pairs
   */
  addPicked(table: Float64Array, sums: Float64Array): void;
  /**
   * adds to each number in `sums` one number of `table`, all equally likely, by the draws of `addPicked`
   * @throws {RangeError} the table does not hold 1 to 2¹⁶ numbers
   */
  addPickedNumbers(table: Float64Array, sums: Float64Array): void;
  /** standard normal, by the polar method of G. Marsaglia and T. A. Bray, SIAM Rev. 6 (1964) 260 */
  normal(): number;
  /** puts the values in random order in place, all orders equally likely (Fisher and Yates, as Durstenfeld 1964) */
  shuffle<T>(values: {readonly length: number; [index: number]: T}): void;
}

const WORD = 2 ** 32;
/** A pick takes 16 bits. */
const MOST_PICKS = 2 ** 16;

/**
 * A random stream of its own for one use: xoshiro256** whose state comes by SplitMix64 from the first eight bytes of
 * SHA-256("seed/name"). Two uses with different names never share numbers, so a new computation moves no old one.
 *
 * @param seed whole number ≥ 0, printed with every result
 * @param name what the stream is for: "bootstrap", "redeal", "order", …
 * @throws {RangeError} the seed is not a whole number ≥ 0, or the name is empty
 */
export function createRandom(seed: number, name: string): Random {
  requireWhole("createRandom", seed, "seed", 0);
  if (name === "") throw new RangeError("createRandom: the stream needs a name");
  const digest = createHash("sha256").update(`${seed}/${name}`).digest();
  const source = new Xoshiro256(splitMix64(digest.readBigUInt64BE(0), 4));
  let spare: number | null = null;

  const uniform = (): number => {
    source.step();
    return (source.high * 2 ** 21 + (source.low >>> 11)) * 2 ** -53;
  };
  let checked = 1;
  let end = WORD; // the largest multiple of the n that was checked last
  const check = (n: number): void => {
    if (!(Number.isInteger(n) && n >= 1 && n <= WORD)) {
      throw new RangeError(`Random.integer: n must be a whole number from 1 to 2^32, but it is ${n}`);
    }
    checked = n;
    end = WORD - (WORD % n);
  };
  const integer = (n: number): number => {
    if (n !== checked) check(n);
    do source.step();
    while (source.high >= end);
    return source.high % n;
  };
  const addPicked = (table: Float64Array, sums: Float64Array): void => {
    const pairs = table.length / 2;
    if (!(Number.isInteger(pairs) && pairs >= 1 && pairs <= MOST_PICKS) || sums.length % 2 !== 0) {
      throw new RangeError(
        `Random.addPicked: a table of 1 to ${MOST_PICKS} pairs and sums in pairs are needed, but there are ${table.length} and ${sums.length} numbers`,
      );
    }
    source.addPicked(table, sums);
  };
  const addPickedNumbers = (table: Float64Array, sums: Float64Array): void => {
    if (table.length < 1 || table.length > MOST_PICKS) {
      throw new RangeError(
        `Random.addPickedNumbers: a table of 1 to ${MOST_PICKS} numbers is needed, but there are ${table.length}`,
      );
    }
    source.addPickedNumbers(table, sums);
  };
  const normal = (): number => {
    if (spare !== null) {
      const kept = spare;
      spare = null;
      return kept;
    }
    for (;;) {
      const x = 2 * uniform() - 1;
      const y = 2 * uniform() - 1;
      const square = x * x + y * y;
      if (square >= 1 || square === 0) continue;
      const factor = Math.sqrt((-2 * Math.log(square)) / square);
      spare = y * factor;
      return x * factor;
    }
  };
  const shuffle = <T>(values: {readonly length: number; [index: number]: T}): void => {
    for (let i = values.length - 1; i > 0; i--) {
      const j = integer(i + 1);
      const kept = values[i];
      values[i] = values[j];
      values[j] = kept;
    }
  };
  return {uniform, integer, addPicked, addPickedNumbers, normal, shuffle};
}
