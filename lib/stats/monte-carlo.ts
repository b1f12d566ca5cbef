import {requireFinite, requireFraction, requireWhole} from "./check.ts";
import {DEFAULT_LEVEL, type Interval} from "./interval.ts";
import {quantileOfSorted} from "./quantile.ts";
import type {Random} from "./random.ts";
import {plainMean, plainVariance} from "./summary.ts";

/** Distribution of a result whose inputs were drawn. */
export interface DrawnResult {
  /** mean of the draws */
  estimate: number;
  /** their standard deviation */
  standardUncertainty: number;
  /** as much probability below it as above */
  interval: Interval;
  /** the shortest stretch that holds this share of the draws */
  shortest: Interval;
  nTrials: number;
}

/** Enough for two significant digits of an interval (JCGM 101:2008, 7.2.2). */
const DEFAULT_TRIALS = 1_000_000;

/**
 * Propagation of distributions by drawing (JCGM 101:2008, 5.3 and 7): each trial draws every input and computes the result.
 *
 * With M trials the limits of a 95 % interval are off by about 3·uncertainty/√M.
 *
 * @param trial   draws its inputs from the given source and returns the result, finite
 * @param options random source, made by the caller from a printed seed; nTrials ≥ 100, default 10⁶; level, default 0.95
 * @throws {RangeError} a result not finite, nTrials below 100, level not between 0 and 1
 */
export function propagateDistributions(
  trial: (random: Random) => number,
  {
    random,
    nTrials = DEFAULT_TRIALS,
    level = DEFAULT_LEVEL,
  }: {random: Random; nTrials?: number; level?: number},
): DrawnResult {
  requireWhole("propagateDistributions", nTrials, "nTrials", 100);
  requireFraction("propagateDistributions", level, "level");
  const draws = new Float64Array(nTrials);
  for (let i = 0; i < nTrials; i++) draws[i] = trial(random);
  requireFinite("propagateDistributions", draws, "results");
  draws.sort();
  const estimate = plainMean(draws);
  const inside = Math.max(1, Math.min(nTrials - 1, Math.round(level * nTrials)));
  let start = 0;
  for (let i = 1; i + inside < nTrials; i++) {
    if (draws[i + inside] - draws[i] < draws[start + inside] - draws[start]) start = i;
  }
  return {
    estimate,
    standardUncertainty: Math.sqrt(plainVariance(draws, estimate)),
    interval: {
      low: quantileOfSorted(draws, (1 - level) / 2),
      high: quantileOfSorted(draws, (1 + level) / 2),
      level,
      method: "drawn, equal tails",
    },
    shortest: {low: draws[start], high: draws[start + inside], level, method: "drawn, shortest"},
    nTrials,
  };
}
