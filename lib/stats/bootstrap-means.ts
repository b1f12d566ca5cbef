import type {Arm, Replicates} from "./bootstrap-replicates.ts";
import type {Random} from "./random.ts";
import {plainMean} from "./summary.ts";

/** Tuples of draws in a table: its sums and sums of squares stay in the cache. */
const MOST_TUPLES = 8192;
/** Resamples made at a time. */
const BLOCK = 1024;
/** A resample whose spread is below this part of its sum of squares is one value over and over, but for rounding. */
const NO_SPREAD = 1e-13;

/**
 * `draw` for means: the same distribution of mean and squared standard error, some ten times faster.
 *
 * n draws one by one are drawn as tuples: all nᵏ tuples of k draws are equally likely, so one number picks one, and a table
 * holds its sum and sum of squares about the mean of the arm. Uses the source in another way than `draw`.
 */
export function drawMeans(
  arms: readonly Arm<number>[],
  nResamples: number,
  {random, studentised}: {random: Random; studentised: boolean},
): Replicates {
  const result = {
    values: new Float64Array(nResamples),
    variances: new Float64Array(nResamples),
    weights: null,
  };
  const sums = new Float64Array(BLOCK);
  const squares = new Float64Array(BLOCK);
  for (const {values, sign} of arms) {
    const n = values.length;
    const centre = plainMean(values);
    const parts = tuplesOf(Float64Array.from(values, value => value - centre));
    for (let from = 0; from < nResamples; from += BLOCK) {
      const count = Math.min(BLOCK, nResamples - from);
      sums.fill(0);
      squares.fill(0);
      for (const part of parts) addTuples(part, count, {random, sums, squares, studentised});
      for (let i = 0; i < count; i++) {
        result.values[from + i] += sign * (centre + sums[i] / n);
        const left = squares[i] - (sums[i] * sums[i]) / n;
        if (left > NO_SPREAD * squares[i]) result.variances[from + i] += left / (n * (n - 1));
      }
    }
  }
  return result;
}

/** Tables of all tuples of one length, drawn `times` times a resample. */
interface Tuples {
  times: number;
  sums: Float64Array;
  squares: Float64Array;
}

/** n draws as tuples of the largest length whose table is small enough, and one shorter tuple for the rest. */
function tuplesOf(deviations: Float64Array): Tuples[] {
  const n = deviations.length;
  let length = 1;
  while (length < n && n ** (length + 1) <= MOST_TUPLES) length++;
  const whole = {times: Math.floor(n / length), ...table(deviations, length)};
  const rest = n % length;
  return rest === 0 ? [whole] : [whole, {times: 1, ...table(deviations, rest)}];
}

function table(deviations: Float64Array, length: number): {sums: Float64Array; squares: Float64Array} {
  const n = deviations.length;
  let sums = Float64Array.of(0);
  let squares = Float64Array.of(0);
  for (let k = 0; k < length; k++) {
    const longerSums = new Float64Array(sums.length * n);
    const longerSquares = new Float64Array(sums.length * n);
    for (let i = 0, at = 0; i < sums.length; i++) {
      for (let j = 0; j < n; j++, at++) {
        longerSums[at] = sums[i] + deviations[j];
        longerSquares[at] = squares[i] + deviations[j] * deviations[j];
      }
    }
    sums = longerSums;
    squares = longerSquares;
  }
  return {sums, squares};
}

/** Draws the tuples of `count` resamples and adds them up. */
function addTuples(
  part: Tuples,
  count: number,
  {
    random,
    sums,
    squares,
    studentised,
  }: {random: Random; sums: Float64Array; squares: Float64Array; studentised: boolean},
): void {
  const drawn = new Uint32Array(count);
  for (let k = 0; k < part.times; k++) {
    random.integers(part.sums.length, drawn);
    for (let i = 0; i < count; i++) sums[i] += part.sums[drawn[i]];
    if (studentised) for (let i = 0; i < count; i++) squares[i] += part.squares[drawn[i]];
  }
}
