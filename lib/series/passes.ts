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
  const sign = to > from ? 1 : -1;
  const passes: LevelPass[] = [];
  let start: {timeS: number; index: number} | null = null;
  for (let i = 1; i < timeS.length; i++) {
    if (timeS[i] - timeS[i - 1] > maxGapS) {
      start = null;
      continue;
    }
    const before = sign * values[i - 1];
    const now = sign * values[i];
    if (now < sign * from) start = null;
    else if (before < sign * from) start = {timeS: crossingInStep(timeS, values, i, from), index: i};
    if (start && before < sign * to && now >= sign * to) {
      const endS = crossingInStep(timeS, values, i, to);
      passes.push({startS: start.timeS, endS, startIndex: start.index, endIndex: i});
      start = null;
    }
  }
  return passes;
}
