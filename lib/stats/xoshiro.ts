const MASK_64 = (1n << 64n) - 1n;

/**
 * The generator xoshiro256** with a state of 256 bits and 64 bits a step.
 *
 * D. Blackman and S. Vigna, Scrambled linear pseudorandom number generators, ACM Trans. Math. Softw. 47 (2021) 36.
 * A 64-bit word is a pair of 32-bit integers (high, low), since BigInt is some thirty times slower here.
 */
export class Xoshiro256 {
  /** upper and lower half of the latest output, as unsigned 32-bit numbers; 0 before the first `step` */
  high = 0;
  low = 0;
  #h0: number;
  #l0: number;
  #h1: number;
  #l1: number;
  #h2: number;
  #l2: number;
  #h3: number;
  #l3: number;

  /** @throws {RangeError} the state is not four 64-bit words, or all of it is zero (the one state that never leaves itself) */
  constructor(state: readonly bigint[]) {
    if (
      state.length !== 4 ||
      state.every(word => word === 0n) ||
      state.some(word => word < 0n || word > MASK_64)
    ) {
      throw new RangeError("Xoshiro256: the state must be four words of 64 bits, not all zero");
    }
    [this.#h0, this.#h1, this.#h2, this.#h3] = state.map(word => Number(word >> 32n) | 0);
    [this.#l0, this.#l1, this.#l2, this.#l3] = state.map(word => Number(word & 0xffffffffn) | 0);
  }

  /** Draws the next 64 bits into `high` and `low`. */
  step(): void {
    const h1 = this.#h1;
    const l1 = this.#l1;
    // output = rotl(s1 · 5, 7) · 9, with s · 5 = (s << 2) + s and s · 9 = (s << 3) + s
    // a carry is a sum that came out smaller, which stays in whole numbers
    let low = ((l1 << 2) + l1) | 0;
    let high = (((h1 << 2) | (l1 >>> 30)) + h1 + (low >>> 0 < l1 >>> 0 ? 1 : 0)) | 0;
    const turnedHigh = (high << 7) | (low >>> 25);
    const turnedLow = (low << 7) | (high >>> 25);
    low = ((turnedLow << 3) + turnedLow) | 0;
    high =
      (((turnedHigh << 3) | (turnedLow >>> 29)) + turnedHigh + (low >>> 0 < turnedLow >>> 0 ? 1 : 0)) | 0;
    this.high = high >>> 0;
    this.low = low >>> 0;

    const shiftedHigh = (h1 << 17) | (l1 >>> 15);
    const shiftedLow = l1 << 17;
    this.#h2 ^= this.#h0;
    this.#l2 ^= this.#l0;
    this.#h3 ^= h1;
    this.#l3 ^= l1;
    this.#h1 ^= this.#h2;
    this.#l1 ^= this.#l2;
    this.#h0 ^= this.#h3;
    this.#l0 ^= this.#l3;
    this.#h2 ^= shiftedHigh;
    this.#l2 ^= shiftedLow;
    // rotl(s3, 45) = halves exchanged, then rotl 13
    const h3 = this.#h3;
    const l3 = this.#l3;
    this.#h3 = (l3 << 13) | (h3 >>> 19);
    this.#l3 = (h3 << 13) | (l3 >>> 19);
  }

  /**
   * `addPicked` with single numbers instead of pairs, by the same draws. Written out once more, since one loop for both takes a quarter
   * longer.
   *
   * @param table n numbers, 1 ≤ n ≤ 2¹⁶
   */
  addPickedNumbers(table: Float64Array, sums: Float64Array): void {
    const n = table.length;
    let h0 = this.#h0;
    let l0 = this.#l0;
    let h1 = this.#h1;
    let l1 = this.#l1;
    let h2 = this.#h2;
    let l2 = this.#l2;
    let h3 = this.#h3;
    let l3 = this.#l3;
    const mask = (2 ** Math.ceil(Math.log2(n)) - 1) | 0;
    const count = sums.length;
    let i = 0;
    while (i + 4 <= count) {
      let low = ((l1 << 2) + l1) | 0;
      let high = (((h1 << 2) | (l1 >>> 30)) + h1 + (low >>> 0 < l1 >>> 0 ? 1 : 0)) | 0;
      const turnedHigh = (high << 7) | (low >>> 25);
      const turnedLow = (low << 7) | (high >>> 25);
      low = ((turnedLow << 3) + turnedLow) | 0;
      high =
        (((turnedHigh << 3) | (turnedLow >>> 29)) + turnedHigh + (low >>> 0 < turnedLow >>> 0 ? 1 : 0)) | 0;
      const shiftedHigh = (h1 << 17) | (l1 >>> 15);
      const shiftedLow = l1 << 17;
      h2 ^= h0;
      l2 ^= l0;
      h3 ^= h1;
      l3 ^= l1;
      h1 ^= h2;
      l1 ^= l2;
      h0 ^= h3;
      l0 ^= l3;
      h2 ^= shiftedHigh;
      l2 ^= shiftedLow;
      const kept = h3;
      h3 = (l3 << 13) | (kept >>> 19);
      l3 = (kept << 13) | (l3 >>> 19);
      let piece = high & mask;
      if (piece < n) sums[i++] += table[piece];
      piece = low & mask;
      if (piece < n) sums[i++] += table[piece];
      piece = (high >>> 16) & mask;
      if (piece < n) sums[i++] += table[piece];
      piece = (low >>> 16) & mask;
      if (piece < n) sums[i++] += table[piece];
    }
    this.#h0 = h0;
    this.#l0 = l0;
    this.#h1 = h1;
    this.#l1 = l1;
    this.#h2 = h2;
    this.#l2 = l2;
    this.#h3 = h3;
    this.#l3 = l3;
    while (i < count) {
      this.step();
      const piece = this.high & mask;
      if (piece < n) sums[i++] += table[piece];
    }
  }

  /**
   * Adds to each pair of numbers in `sums` one pair of `table`, all equally likely.
   *
   * Each output gives four pieces of 16 bits, of which as many of the lowest bits are taken as the number of pairs needs; pieces beyond it are
   * passed over. The steps of `step`, with the state held in local variables.
   *
   * @param table 2n numbers, 1 ≤ n ≤ 2¹⁶
   * @param sums  an even number of numbers
   */
  addPicked(table: Float64Array, sums: Float64Array): void {
    const n = table.length >> 1;
    let h0 = this.#h0;
    let l0 = this.#l0;
    let h1 = this.#h1;
    let l1 = this.#l1;
    let h2 = this.#h2;
    let l2 = this.#l2;
    let h3 = this.#h3;
    let l3 = this.#l3;
    const mask = (2 ** Math.ceil(Math.log2(n)) - 1) | 0;
    const count = sums.length;
    let i = 0;
    while (i + 8 <= count) {
      let low = ((l1 << 2) + l1) | 0;
      let high = (((h1 << 2) | (l1 >>> 30)) + h1 + (low >>> 0 < l1 >>> 0 ? 1 : 0)) | 0;
      const turnedHigh = (high << 7) | (low >>> 25);
      const turnedLow = (low << 7) | (high >>> 25);
      low = ((turnedLow << 3) + turnedLow) | 0;
      high =
        (((turnedHigh << 3) | (turnedLow >>> 29)) + turnedHigh + (low >>> 0 < turnedLow >>> 0 ? 1 : 0)) | 0;
      const shiftedHigh = (h1 << 17) | (l1 >>> 15);
      const shiftedLow = l1 << 17;
      h2 ^= h0;
      l2 ^= l0;
      h3 ^= h1;
      l3 ^= l1;
      h1 ^= h2;
      l1 ^= l2;
      h0 ^= h3;
      l0 ^= l3;
      h2 ^= shiftedHigh;
      l2 ^= shiftedLow;
      const kept = h3;
      h3 = (l3 << 13) | (kept >>> 19);
      l3 = (kept << 13) | (l3 >>> 19);
      let piece = high & mask;
      if (piece < n) {
        sums[i] += table[2 * piece];
        sums[i + 1] += table[2 * piece + 1];
        i += 2;
      }
      piece = low & mask;
      if (piece < n) {
        sums[i] += table[2 * piece];
        sums[i + 1] += table[2 * piece + 1];
        i += 2;
      }
      piece = (high >>> 16) & mask;
      if (piece < n) {
        sums[i] += table[2 * piece];
        sums[i + 1] += table[2 * piece + 1];
        i += 2;
      }
      piece = (low >>> 16) & mask;
      if (piece < n) {
        sums[i] += table[2 * piece];
        sums[i + 1] += table[2 * piece + 1];
        i += 2;
      }
    }
    this.#h0 = h0;
    this.#l0 = l0;
    this.#h1 = h1;
    this.#l1 = l1;
    this.#h2 = h2;
    this.#l2 = l2;
    this.#h3 = h3;
    this.#l3 = l3;
    while (i < count) {
      this.step();
      const piece = this.high & mask;
      if (piece >= n) continue;
      sums[i] += table[2 * piece];
      sums[i + 1] += table[2 * piece + 1];
      i += 2;
    }
  }
}

/**
 * The first `count` outputs of SplitMix64, which turns one word into a state without patterns.
 *
 * G. L. Steele, D. Lea and C. H. Flood, Fast splittable pseudorandom number generators, OOPSLA 2014; constants as in
 * the public-domain code of S. Vigna. Used once a stream, so BigInt is fast enough.
 */
export function splitMix64(seed: bigint, count: number): bigint[] {
  let state = seed & MASK_64;
  return Array.from({length: count}, () => {
    state = (state + 0x9e3779b97f4a7c15n) & MASK_64;
    let word = state;
    word = ((word ^ (word >> 30n)) * 0xbf58476d1ce4e5b9n) & MASK_64;
    word = ((word ^ (word >> 27n)) * 0x94d049bb133111ebn) & MASK_64;
    return word ^ (word >> 31n);
  });
}
