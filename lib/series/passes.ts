import {requireSeries} from "./check.ts";
import {crossingInStep} from "./crossing.ts";

/** One pass of a series from one level to another. */
export interface LevelPass {
  /** time at which the first level was crossed [s] */
  startS: number;
  /** time at which the second level was crossed [s] */
  endS: number;
  /** the first level was crossed between samples startIndex − 1 and startIndex */
  startIndex: number;
  /** the second level was crossed between samples endIndex − 1 and endIndex */
  endIndex: number;
}

/**
 * Every pass of a series through the levels A → B, rising for A < B, falling for A > B.
 *
 * A rising series crosses A between samples i − 1 and i when v[i−1] < A ≤ v[i], at the time of linear
 * interpolation. A pass starts at the last crossing of A before the next crossing of B; falling below A in between
 * discards the start; after B a new crossing of A is needed. A falling series is the mirror image (v[i−1] > A ≥ v[i]).
 * A step longer than `maxGapS` ends whatever was begun: nothing is interpolated across it.
 *
 * @param timeS  sample times [s], length n ≥ 2, strictly increasing
 * @param values length n, finite; same unit as the levels
 * @returns passes in order of time; empty where there is none
 * @throws {RangeError} not a series, equal or not finite levels, a gap that is not positive
 */
export function levelPasses(
  timeS: ArrayLike<number>,
  values: ArrayLike<number>,
  from: number,
  to: number,
  {maxGapS}: {maxGapS: number},
): LevelPass[] {
  requireSeries("levelPasses", timeS, values);
  if (!Number.isFinite(from) || !Number.isFinite(to) || from === to) {
    throw new RangeError(`levelPasses: two different finite levels are needed, found ${from} and ${to}`);
  }
  if (!(maxGapS > 0))
    throw new RangeError(`levelPasses: the longest step must be positive, found ${maxGapS} s`);
  const finder = levelPassFinder(from, to, {maxGapS});
  const passes: LevelPass[] = [];
  for (let i = 0; i < timeS.length; i++) {
    const pass = finder(timeS[i], values[i]);
    if (pass) passes.push(pass);
  }
  return passes;
}

/** As `levelPasses`, for samples that come one after the other: each call gets the next, and returns the pass that ends with it. */
export function levelPassFinder(
  from: number,
  to: number,
  {maxGapS}: {maxGapS: number},
): (timeS: number, value: number) => LevelPass | null {
  const sign = to > from ? 1 : -1;
  let start: {timeS: number; index: number} | null = null;
  let i = -1;
  let lastS = Number.NaN;
  let last = Number.NaN;
  return (timeS, value) => {
    i++;
    const beforeS = lastS;
    const before = last;
    lastS = timeS;
    last = value;
    if (i === 0) return null;
    if (timeS - beforeS > maxGapS) {
      start = null;
      return null;
    }
    if (sign * value < sign * from) start = null;
    else if (sign * before < sign * from)
      start = {timeS: crossingInStep([beforeS, timeS], [before, value], 1, from), index: i};
    if (!start || !(sign * before < sign * to && sign * value >= sign * to)) return null;
    const endS = crossingInStep([beforeS, timeS], [before, value], 1, to);
    const pass = {startS: start.timeS, endS, startIndex: start.index, endIndex: i};
    start = null;
    return pass;
  };
}
