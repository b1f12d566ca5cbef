import assert from "node:assert/strict";
import fc from "fast-check";
import {describe, it} from "vitest";
import {packedValues} from "../../lib/log/packed-values.ts";
import {medianOfPieces, orderedValues} from "../../lib/log/piece-median.ts";
import {median} from "../../lib/stats/quantile.ts";
import {createRandom} from "../../lib/stats/random.ts";

function packedOf(values: readonly number[]) {
  const packed = packedValues();
  const array = Float64Array.from(values);
  for (let i = 0; i < array.length; i += 1000) packed.add(array, i, Math.min(i + 1000, array.length));
  return packed;
}

const random = createRandom(3, "packed");
const course = (at: (i: number) => number) => Array.from({length: 10_000}, (_, i) => at(i));
const COURSES: [name: string, values: number[]][] = [
  ["times", course(i => i / 100)],
  ["times that come unevenly", course(i => (10 * i + Math.floor(3 * random.uniform())) / 1000)],
  ["times of a clock, from arithmetic", course(i => 43_200 + i / 100 - 40_000)],
  [
    "speeds with holes",
    course(i => (i % 17 === 0 ? Number.NaN : Math.round(100 * (80 + 30 * Math.sin(i / 50))) / 100)),
  ],
  ["no value at all", course(() => Number.NaN)],
  ["one value", course(() => 12.5)],
  ["noise of all digits", course(() => random.uniform() - 0.5)],
  ["large whole numbers", course(i => 1.7e12 + 10 * i + (i % 4096 === 7 ? 2 ** 40 : 0))],
  ["zeros of both signs and infinities", course(i => [0, -0, 1, Number.POSITIVE_INFINITY, -1e100][i % 5])],
];

describe("packed values", () => {
  it("come back to the last bit", () => {
    for (const [name, values] of COURSES) {
      const array = packedOf(values).toArray();
      assert.ok(
        values.every((value, i) => Object.is(value, array[i])),
        name,
      );
    }
    const number = fc.oneof(
      fc.double(),
      fc.constantFrom(0, -0, Number.NaN, 1e15, -1e15, 2 ** 53, 0.1, 1e-9),
      fc.integer({min: -1e6, max: 1e6}).map(n => n / 1000),
    );
    fc.assert(
      fc.property(fc.array(number, {minLength: 1, maxLength: 30}), values => {
        const repeated = Array.from({length: 4100}, (_, i) => values[i % values.length]);
        const array = packedOf(repeated).toArray();
        return repeated.every((value, i) => Object.is(value, array[i]));
      }),
      {seed: 8, numRuns: 300},
    );
  });
  it("have the middle, and values at other places, of the same values in memory", () => {
    for (const [name, values] of COURSES) {
      for (const n of [9999, 10_000]) {
        const finite = values.slice(0, n).filter(Number.isFinite);
        const found = medianOfPieces(packedOf(values.slice(0, n)));
        assert.ok(found === (finite.length === 0 ? null : median(finite)), name);
        const sorted = Float64Array.from(finite).sort();
        const places = orderedValues(packedOf(values.slice(0, n)), count => [7, count - 1]);
        assert.deepEqual(
          places?.map(value => value + 0) ?? null,
          finite.length ? [sorted[7] + 0, sorted[sorted.length - 1] + 0] : null,
          name,
        );
      }
    }
  });
});
