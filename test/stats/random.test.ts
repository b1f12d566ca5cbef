import assert from "node:assert/strict";
import {createHash} from "node:crypto";
import {describe, it} from "vitest";
import {createRandom} from "../../lib/stats/random.ts";
import {splitMix64, Xoshiro256} from "../../lib/stats/xoshiro.ts";
import {assertClose} from "../assert-close.ts";
import {assertShare, reference} from "./reference.ts";

const {row} = reference("random");
const MASK = (1n << 64n) - 1n;
const rotl = (x: bigint, k: bigint): bigint => ((x << k) | (x >> (64n - k))) & MASK;

/** xoshiro256** in whole 64-bit words, straight from the paper: the slow reference for the fast one. */
function* slowXoshiro(state: bigint[]): Generator<bigint> {
  const s = [...state];
  for (;;) {
    yield (rotl((s[1] * 5n) & MASK, 7n) * 9n) & MASK;
    const t = (s[1] << 17n) & MASK;
    s[2] ^= s[0];
    s[3] ^= s[1];
    s[1] ^= s[2];
    s[0] ^= s[3];
    s[2] ^= t;
    s[3] = rotl(s[3], 45n);
  }
}

function next(source: Xoshiro256): bigint {
  source.step();
  return (BigInt(source.high) << 32n) | BigInt(source.low);
}

describe("splitMix64", () => {
  it("gives the known answers", () => {
    // A15-splitmix64: reference sequence for seed 1234567
    const {expected} = row<{first5: string[]}>("A15-splitmix64");
    assert.deepEqual(splitMix64(1234567n, 5).map(String), expected.first5);
  });
});

describe("Xoshiro256", () => {
  it("gives the known answers from state 1, 2, 3, 4", () => {
    // A15-xoshiro256ss: reference algorithm of Blackman and Vigna
    const {expected} = row<{first10: string[]}>("A15-xoshiro256ss");
    const source = new Xoshiro256([1n, 2n, 3n, 4n]);
    assert.deepEqual(
      expected.first10.map(() => String(next(source))),
      expected.first10,
    );
  });

  it("agrees with whole-word arithmetic for 2000 steps from 20 states", () => {
    for (let seed = 0n; seed < 20n; seed++) {
      const state = splitMix64(seed, 4);
      const fast = new Xoshiro256(state);
      const slow = slowXoshiro(state);
      for (let i = 0; i < 2000; i++) assert.equal(next(fast), slow.next().value, `seed ${seed}, step ${i}`);
    }
  });

  it("refuses the state of zeros, which never leaves itself", () => {
    assert.throws(() => new Xoshiro256([0n, 0n, 0n, 0n]), {name: "RangeError", message: /not all zero/});
    assert.throws(() => new Xoshiro256([1n, 2n]), {name: "RangeError", message: /four words/});
  });
});

describe("createRandom", () => {
  it("starts where SHA-256 of seed and name says", () => {
    const digest = createHash("sha256").update("4711/bootstrap").digest();
    const word = slowXoshiro(splitMix64(digest.readBigUInt64BE(0), 4)).next().value as bigint;
    assert.equal(createRandom(4711, "bootstrap").uniform(), Number(word >> 11n) / 2 ** 53);
  });

  it("gives the same numbers for the same seed and name, others for another", () => {
    const first = (seed: number, name: string): number => createRandom(seed, name).uniform();
    assert.equal(first(1, "order"), first(1, "order"));
    assert.notEqual(first(1, "order"), first(2, "order"));
    assert.notEqual(first(1, "order"), first(1, "redeal"));
  });

  it("draws uniform numbers with the right moments and even tenths", () => {
    // Uniform on [0, 1): mean 1/2, variance 1/12; four standard errors of each.
    const n = 100_000;
    const random = createRandom(1, "test uniform");
    const tenths = new Array<number>(10).fill(0);
    let sum = 0;
    let squares = 0;
    for (let i = 0; i < n; i++) {
      const u = random.uniform();
      assert.ok(u >= 0 && u < 1);
      tenths[Math.floor(u * 10)]++;
      sum += u;
      squares += (u - 0.5) ** 2;
    }
    assertClose(sum / n, 0.5, 4 * Math.sqrt(1 / 12 / n));
    assertClose(squares / n, 1 / 12, 4 * Math.sqrt(1 / 180 / n)); // variance of (u − ½)² is 1/80 − 1/144 = 1/180
    for (const count of tenths) assertShare(count, n, 0.1);
  });

  it("draws every whole number below n alike, also where n does not divide 2^32", () => {
    const n = 70_000;
    const random = createRandom(1, "test integer");
    const counts = new Array<number>(7).fill(0);
    for (let i = 0; i < n; i++) counts[random.integer(7)]++;
    for (const count of counts) assertShare(count, n, 1 / 7);
    // With a plain remainder the lower half of 3·2³⁰ would come up twice as often as the rest.
    let low = 0;
    for (let i = 0; i < n; i++) if (random.integer(3 * 2 ** 30) < 2 ** 30) low++;
    assertShare(low, n, 1 / 3);
    assert.equal(random.integer(1), 0);
  });

  it("picks every pair of a table alike", () => {
    const n = 70_000;
    const random = createRandom(1, "test picks");
    for (const size of [1, 7, 400, 8000, 65_536]) {
      const table = Float64Array.from({length: 2 * size}, (_, i) => (i % 2 === 0 ? i / 2 : -i));
      const sums = new Float64Array(2 * n);
      random.addPicked(table, sums);
      const picked = sums.filter((_, i) => i % 2 === 0);
      const sevenths = new Array<number>(7).fill(0);
      picked.forEach((value, i) => {
        assert.ok(Number.isInteger(value) && value < size);
        assert.equal(sums[2 * i + 1], -(2 * value + 1), "both numbers of one pair");
        sevenths[Math.floor((7 * value) / size)]++;
      });
      sevenths.forEach((count, k) => {
        const share = (Math.ceil(((k + 1) * size) / 7) - Math.ceil((k * size) / 7)) / size;
        assertShare(count, n, share, 4.5);
      });
      if (size === 1) continue;
      // neighbours know nothing of each other: their products have standard deviation (1/12)(size + 1)/(size − 1)
      let products = 0;
      for (let i = 1; i < n; i++) {
        products += (picked[i] / (size - 1) - 0.5) * (picked[i - 1] / (size - 1) - 0.5);
      }
      assertClose(products / n, 0, (4 * ((size + 1) / (size - 1) / 12)) / Math.sqrt(n));
    }
  });

  it("picks single numbers by the draws of pairs", () => {
    for (const size of [1, 7, 400, 8000]) {
      const table = Float64Array.from({length: size}, (_, i) => i);
      const pairs = Float64Array.from({length: 2 * size}, (_, i) => (i % 2 === 0 ? i / 2 : 0));
      const sums = new Float64Array(1001);
      createRandom(1, "test picks").addPickedNumbers(table, sums);
      const inPairs = new Float64Array(2002);
      createRandom(1, "test picks").addPicked(pairs, inPairs);
      assert.deepEqual(
        sums,
        inPairs.filter((_, i) => i % 2 === 0),
      );
    }
    assert.throws(
      () => createRandom(1, "test picks").addPickedNumbers(new Float64Array(0), new Float64Array(1)),
      {
        name: "RangeError",
        message: /a table of 1 to 65536 numbers is needed/,
      },
    );
  });

  it("adds picks to what is there, and refuses what are no pairs", () => {
    const random = createRandom(1, "test picks");
    const sums = Float64Array.of(10, 20, 30, 40, 50, 60);
    random.addPicked(Float64Array.of(1, 2), sums);
    assert.deepEqual([...sums], [11, 22, 31, 42, 51, 62]);
    for (const [table, into] of [
      [0, 2],
      [3, 2],
      [2, 3],
      [2 ** 17 + 2, 2],
    ]) {
      assert.throws(() => random.addPicked(new Float64Array(table), new Float64Array(into)), {
        name: "RangeError",
        message: /a table of 1 to 65536 pairs and sums in pairs are needed/,
      });
    }
  });

  it("draws normal numbers with the right moments and tails", () => {
    const n = 100_000;
    const random = createRandom(1, "test normal");
    const powers = [0, 0, 0, 0];
    let beyond = 0;
    for (let i = 0; i < n; i++) {
      const z = random.normal();
      for (let k = 0; k < 4; k++) powers[k] += z ** (k + 1);
      if (Math.abs(z) > 1.959963984540054) beyond++;
    }
    // moments 0, 1, 0, 3 with variances 1, 2, 15, 96
    assertClose(powers[0] / n, 0, 4 * Math.sqrt(1 / n));
    assertClose(powers[1] / n, 1, 4 * Math.sqrt(2 / n));
    assertClose(powers[2] / n, 0, 4 * Math.sqrt(15 / n));
    assertClose(powers[3] / n, 3, 4 * Math.sqrt(96 / n));
    assertShare(beyond, n, 0.05);
  });

  it("puts four values in each of the 24 orders equally often", () => {
    const n = 48_000;
    const random = createRandom(1, "test shuffle");
    const counts = new Map<string, number>();
    for (let i = 0; i < n; i++) {
      const values = [0, 1, 2, 3];
      random.shuffle(values);
      const order = values.join("");
      counts.set(order, (counts.get(order) ?? 0) + 1);
    }
    assert.equal(counts.size, 24);
    for (const count of counts.values()) assertShare(count, n, 1 / 24);
  });

  it("refuses seeds and sizes that are no whole numbers", () => {
    assert.throws(() => createRandom(1.5, "order"), {
      name: "RangeError",
      message: /seed must be a whole number.*1\.5/,
    });
    assert.throws(() => createRandom(-1, "order"), {name: "RangeError", message: /-1/});
    assert.throws(() => createRandom(1, ""), {name: "RangeError", message: /name/});
    for (const n of [0, -3, 2.5, Number.NaN, 2 ** 33]) {
      assert.throws(() => createRandom(1, "order").integer(n), {
        name: "RangeError",
        message: /from 1 to 2\^32/,
      });
    }
  });
});
