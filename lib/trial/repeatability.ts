import type {IntervalRecord} from "../result/documents.ts";
import type {OrderName} from "../result/session.ts";
import {chiSquareQuantile} from "../stats/distributions.ts";
import {mean, standardDeviation} from "../stats/summary.ts";
import {driftOf} from "./drift.ts";
import type {TrialRun} from "./model.ts";
import {smallestShown} from "./plan-power.ts";

/** One of several identical runs. */
export interface RepeatedRun {
  /** place in the order driven, from 1 */
  run: number;
  value: number;
  /** clock time [s], one zero for all runs, or null */
  timeS: number | null;
}

/** What a planned test could show with the spread of these runs. */
export interface Reach {
  order: OrderName;
  runs: number;
  /** smallest true difference shown in four days of five, in the unit of the values */
  smallest: number;
}

/** How much identical runs differ; numbers in the unit of the values. */
export interface Repeatability {
  n: number;
  mean: number;
  /** spread of one run about the mean; null below 2 runs */
  sd: number | null;
  sdInterval: IntervalRecord | null;
  /** two runs of the same car differ by less than this 95 times in 100: 1.96·√2·sd (ISO 5725-6 calls it the repeatability limit, 2.8 sd) */
  limit: number | null;
  /** change a run, with its interval; null below 4 runs */
  drift: {perRun: number; interval: IntervalRecord | null} | null;
  /** spread of one run about the drift, or null */
  sdAboutDrift: number | null;
  /** correlation of one run with the next about the drift, or null */
  lagOne: number | null;
}

/** Plans that fit in an afternoon. */
const PLANS: readonly {order: OrderName; runs: number}[] = [
  {order: "complete", runs: 6},
  {order: "abba", runs: 8},
  {order: "pairs", runs: 8},
  {order: "drift-balanced", runs: 8},
  {order: "pairs", runs: 12},
  {order: "drift-balanced", runs: 12},
  {order: "drift-balanced", runs: 16},
];
/** 1.96·√2, to the two digits that ISO 5725-6 gives it. */
const LIMIT = 2.8;
/** Fewer runs than this have no spread about a drift. */
const LEAST_FOR_DRIFT = 4;

/**
 * Spread of identical runs and their drift. The interval of the
 * spread is that of χ² (normal noise): with 8 runs it reaches from two thirds to twice the spread.
 *
 * @param runs   runs that count, in the order driven, finite
 * @param level  of the intervals
 * @throws {RangeError} no run, a value that is not finite, level not between 0 and 1
 */
export function repeatabilityOf(runs: readonly RepeatedRun[], {level}: {level: number}): Repeatability {
  if (runs.length === 0) throw new RangeError("repeatabilityOf: at least one run needed");
  if (!(level > 0 && level < 1)) {
    throw new RangeError(`repeatabilityOf: level must lie between 0 and 1, but it is ${level}`);
  }
  const values = runs.map(run => run.value);
  const n = values.length;
  const middle = mean(values);
  const sd = standardDeviation(values);
  const drift = sd === null || sd === 0 || n < LEAST_FOR_DRIFT ? null : driftOf(runs.map(asOneArm), {level});
  return {
    n,
    mean: middle,
    sd,
    sdInterval: sd === null || sd === 0 ? null : spreadInterval(sd, n - 1, level),
    limit: sd === null ? null : LIMIT * sd,
    drift: drift && {perRun: drift.perRun, interval: drift.interval},
    sdAboutDrift: drift?.residualSd ?? null,
    lagOne: drift?.lagOne ?? null,
  };
}

/** Identical runs are runs of one arm. */
function asOneArm(run: RepeatedRun): TrialRun {
  return {...run, arm: "baseline", block: null, direction: null, refitted: false};
}

/** Interval of a standard deviation from n normal values: sd·√(df/χ²). */
function spreadInterval(sd: number, df: number, level: number): IntervalRecord {
  const at = (p: number) => sd * Math.sqrt(df / chiSquareQuantile(p, df));
  return {
    low: at((1 + level) / 2),
    high: at((1 - level) / 2),
    level,
    method: "χ² of the spread, normal noise",
  };
}

/**
 * What plans that fit in an afternoon could show with this spread: the smallest true difference shown in four days of five.
 * Orders that take a drift out are given the spread about the drift, the others the whole spread. Takes about a second.
 *
 * @returns empty where the runs have no spread
 * @throws {RangeError} level not between 0 and 1
 */
export function reachOfPlans({sd, sdAboutDrift}: Repeatability, {level}: {level: number}): Reach[] {
  if (!sd) return [];
  return PLANS.flatMap(({order, runs}) => {
    const inSpreads = smallestShown({order, runs}, {level});
    const spread = order === "complete" ? sd : (sdAboutDrift ?? sd);
    return inSpreads === null ? [] : [{order, runs, smallest: inSpreads * spread}];
  });
}
