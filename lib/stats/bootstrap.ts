import {
  type BootstrapDistribution,
  completeDistribution,
  drawnDistribution,
  spreadOf,
} from "./bootstrap-distribution.ts";
import {
  type BootstrapInterval,
  bcaInterval,
  percentileInterval,
  studentisedInterval,
  type TieRule,
} from "./bootstrap-interval.ts";
import {drawMeans, MOST_TUPLES} from "./bootstrap-means.ts";
import {type Arm, draw, list, type Measured, type Replicates, signed, sum} from "./bootstrap-replicates.ts";
import {requireFinite, requireWhole} from "./check.ts";
import {jackknifeAcceleration} from "./jackknife.ts";
import {median} from "./quantile.ts";
import type {Random} from "./random.ts";
import {plainMean, plainVariance} from "./summary.ts";

/** A statistic of one sample of n ≥ 1 things. */
export interface Statistic<T> {
  value(sample: readonly T[]): number;
  /** standard error of the value from the same sample, 0 where the sample shows no spread; needed to studentise */
  standardError?(sample: readonly T[]): number;
}

/** The mean, with sd/√n as its standard error. */
export const MEAN: Statistic<number> = {
  value: plainMean,
  standardError: sample =>
    sample.length < 2 || sample.every(value => value === sample[0])
      ? 0
      : Math.sqrt(plainVariance(sample, plainMean(sample)) / sample.length),
};

/** The median; it has no standard error here and cannot be studentised. */
export const MEDIAN: Statistic<number> = {value: median};

/** How a bootstrap is made. */
export interface BootstrapOptions<T> {
  statistic: Statistic<T>;
  /** default "studentised", the only one of the three that covers near its level at small n */
  method?: "studentised" | "percentile" | "bca";
  /** default 0.95 */
  level?: number;
  /** source for the draws where there are too many resamples to list; the caller makes it from a printed seed */
  random: Random;
  /** number of draws then, default 9999 */
  nResamples?: number;
  /** list all resamples up to this number of them, default `MAX_LISTED_RESAMPLES` */
  maxListed?: number;
  /** for "bca", default "half" */
  ties?: TieRule;
}

/** What a bootstrap found. */
export interface BootstrapResult {
  /** the statistic of the values themselves */
  estimate: number;
  /** standard deviation of the statistic over the resamples */
  standardError: number;
  /** null where the resamples show no spread */
  interval: BootstrapInterval | null;
  /** every resample was listed with its probability; no random number was used */
  complete: boolean;
  /** resamples listed or drawn */
  nResamples: number;
  /** share of resamples without any spread, which cannot be studentised and were left out, 0 … 1 */
  droppedShare: number;
}

/** Draws where resamples are not listed: limits move by about 1 % of their spread with the seed. */
export const DEFAULT_RESAMPLES = 9999;

/** Listing so many resamples takes about 0.2 s on a laptop: two samples of 6, or one of 10. */
export const MAX_LISTED_RESAMPLES = 250_000;

/**
 * Bootstrap of a statistic of one sample.
 *
 * All C(2n − 1, n) resamples with their probabilities where they are few, else draws.
 *
 * @param values n ≥ 2 things: numbers, or rows of several
 * @throws {RangeError} fewer than 2 values, a number that is not finite, "studentised" without a standard error
 */
export function bootstrapSample<T>(values: readonly T[], options: BootstrapOptions<T>): BootstrapResult {
  return bootstrapArms("bootstrapSample", [{values, sign: 1}], options);
}

/**
 * Bootstrap of the difference statistic(b) − statistic(a), each sample resampled by itself.
 *
 * Studentised with the mean this is the model-free companion of `welchDifference`; about 40 % wider at 3 against 3.
 *
 * @param a first sample, n ≥ 2
 * @param b second sample, n ≥ 2
 * @throws {RangeError} as `bootstrapSample`
 */
export function bootstrapDifference<T>(
  a: readonly T[],
  b: readonly T[],
  options: BootstrapOptions<T>,
): BootstrapResult {
  return bootstrapArms(
    "bootstrapDifference",
    [
      {values: a, sign: -1},
      {values: b, sign: 1},
    ],
    options,
  );
}

function bootstrapArms<T>(
  caller: string,
  arms: readonly Arm<T>[],
  {
    statistic,
    method = "studentised",
    level,
    random,
    nResamples = DEFAULT_RESAMPLES,
    maxListed = MAX_LISTED_RESAMPLES,
    ties,
  }: BootstrapOptions<T>,
): BootstrapResult {
  for (const {values} of arms) requireSample(caller, values);
  requireWhole(caller, nResamples, "nResamples");
  const studentised = method === "studentised";
  if (studentised && !statistic.standardError) {
    throw new RangeError(`${caller}: this statistic has no standard error, so it cannot be studentised`);
  }
  const of = measure(statistic, studentised);
  const observed = sum(arms.map(({values, sign}) => signed(of(values), sign)));
  const listed = list(arms, of, studentised, maxListed);
  const replicates =
    listed ??
    (areMeans(arms, statistic)
      ? drawMeans(arms, nResamples, random, {spread: studentised})
      : draw(arms, of, nResamples, random));
  const result = {
    estimate: observed.value,
    standardError: spreadOf(replicates.values, replicates.weights),
    complete: listed !== null,
    nResamples: replicates.values.length,
    droppedShare: 0,
  };
  if (studentised) {
    const {t, droppedShare} = studentise(replicates, observed.value);
    if (t === null || observed.variance === 0) return {...result, droppedShare, interval: null};
    const standardError = Math.sqrt(observed.variance);
    const interval = studentisedInterval(t, {estimate: observed.value, standardError, level});
    return {...result, droppedShare, interval};
  }
  const distribution = distributionOf(replicates.values, replicates.weights);
  if (method === "percentile") return {...result, interval: percentileInterval(distribution, {level})};
  const acceleration = jackknifeAcceleration(arms, statistic);
  const options = {estimate: observed.value, acceleration, level, ties};
  return {...result, interval: bcaInterval(distribution, options)};
}

function measure<T>(statistic: Statistic<T>, studentised: boolean): (sample: readonly T[]) => Measured {
  return sample => ({
    value: statistic.value(sample),
    variance: studentised ? statistic.standardError!(sample) ** 2 : 0,
  });
}

function distributionOf(values: Float64Array, weights: Float64Array | null): BootstrapDistribution {
  return weights === null ? drawnDistribution(values) : completeDistribution(values, weights);
}

/** Distribution of t* = (θ* − θ)/se*, without the resamples whose standard error is zero. */
function studentise(
  {values, variances, weights}: Replicates,
  estimate: number,
): {t: BootstrapDistribution | null; droppedShare: number} {
  const t = new Float64Array(values.length);
  const keptWeights = weights && new Float64Array(values.length);
  let kept = 0;
  let droppedShare = 0;
  for (let i = 0; i < values.length; i++) {
    if (variances[i] > 0) {
      t[kept] = (values[i] - estimate) / Math.sqrt(variances[i]);
      if (keptWeights !== null) keptWeights[kept] = weights![i];
      kept++;
    } else droppedShare += weights === null ? 1 / values.length : weights[i];
  }
  if (kept === 0) return {t: null, droppedShare: 1};
  return {t: distributionOf(t.subarray(0, kept), keptWeights?.subarray(0, kept) ?? null), droppedShare};
}

/** Whether the arms are numbers, not too many, of which the mean is asked: it is drawn in a faster way. */
function areMeans(arms: readonly Arm<unknown>[], statistic: unknown): arms is readonly Arm<number>[] {
  return statistic === MEAN && arms.every(({values}) => values.length <= MOST_TUPLES);
}

function requireSample(caller: string, values: readonly unknown[]): void {
  if (values.length < 2)
    throw new RangeError(
      `${caller}: at least 2 values needed, but there ${values.length === 1 ? "is 1" : "are none"}`,
    );
  if (typeof values[0] === "number") requireFinite(caller, values as readonly number[], "values");
}
