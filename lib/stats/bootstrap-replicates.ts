import {completeDistribution} from "./bootstrap-distribution.ts";
import type {Random} from "./random.ts";
import {countMultisets, forEachMultiset} from "./resamples.ts";

/** One sample and the sign with which its statistic enters. */
export interface Arm<T> {
  values: readonly T[];
  sign: 1 | -1;
}

/** Statistic and squared standard error of resamples, signed and summed over arms. */
export interface Replicates {
  values: Float64Array;
  variances: Float64Array;
  /** null where all weigh the same */
  weights: Float64Array | null;
}

/** A statistic and its squared standard error. */
export interface Measured {
  value: number;
  variance: number;
}

/** The statistic with its sign. */
export function signed({value, variance}: Measured, sign: 1 | -1): Measured {
  return {value: sign * value, variance};
}

/** Sum of independent statistics. */
export function sum(parts: readonly Measured[]): Measured {
  return parts.reduce((total, part) => ({
    value: total.value + part.value,
    variance: total.variance + part.variance,
  }));
}

/** Every resample with its probability, or null where there are more than `most`. */
export function list<T>(
  arms: readonly Arm<T>[],
  of: (sample: readonly T[]) => Measured,
  studentised: boolean,
  most: number,
): Replicates | null {
  const counts = arms.map(({values}) => countMultisets(values.length));
  if (!counts.every(count => count <= most)) return null;
  if (studentised && counts.reduce((product, count) => product * count, 1) > most) return null;
  let all: Replicates | null = null;
  for (const {values, sign} of arms) {
    const one = listArm(values, sign, of);
    // equal values need listing once; where the spread matters too, each resample stays by itself
    const arm: Replicates = studentised ? one : merged(one);
    if (all !== null && all.values.length * arm.values.length > most) return null;
    all = all === null ? arm : product(all, arm);
  }
  return all;
}

function listArm<T>(values: readonly T[], sign: 1 | -1, of: (sample: readonly T[]) => Measured): Replicates {
  const n = countMultisets(values.length);
  const result = {values: new Float64Array(n), variances: new Float64Array(n), weights: new Float64Array(n)};
  const sample = values.slice();
  let at = 0;
  forEachMultiset(values.length, (counts, weight) => {
    for (let i = 0, end = 0; i < counts.length; i++)
      for (let k = counts[i]; k > 0; k--) sample[end++] = values[i];
    const {value, variance} = of(sample);
    result.values[at] = sign * value;
    result.variances[at] = variance;
    result.weights[at++] = weight;
  });
  return result;
}

function merged({values, weights}: Replicates): Replicates {
  const distribution = completeDistribution(values, weights!);
  const cumulative = distribution.cumulative!;
  return {
    values: distribution.values,
    variances: new Float64Array(distribution.values.length),
    weights: cumulative.map((share, i) => share - (i > 0 ? cumulative[i - 1] : 0)),
  };
}

function product(a: Replicates, b: Replicates): Replicates {
  const n = a.values.length * b.values.length;
  const result = {values: new Float64Array(n), variances: new Float64Array(n), weights: new Float64Array(n)};
  let at = 0;
  for (let i = 0; i < a.values.length; i++) {
    for (let j = 0; j < b.values.length; j++, at++) {
      result.values[at] = a.values[i] + b.values[j];
      result.variances[at] = a.variances[i] + b.variances[j];
      result.weights[at] = a.weights![i] * b.weights![j];
    }
  }
  return result;
}

/** `n` resamples by lot, each arm by itself. */
export function draw<T>(
  arms: readonly Arm<T>[],
  of: (sample: readonly T[]) => Measured,
  n: number,
  random: Random,
): Replicates {
  const result = {values: new Float64Array(n), variances: new Float64Array(n), weights: null};
  const samples = arms.map(({values}) => values.slice());
  for (let at = 0; at < n; at++) {
    arms.forEach(({values, sign}, arm) => {
      const sample = samples[arm];
      for (let i = 0; i < sample.length; i++) sample[i] = values[random.integer(values.length)];
      const {value, variance} = of(sample);
      result.values[at] += sign * value;
      result.variances[at] += variance;
    });
  }
  return result;
}
