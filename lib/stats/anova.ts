import {requirePositive, requireValues, requireWhole} from "./check.ts";
import {fUpperTail} from "./distributions.ts";
import {plainMean, plainVariance} from "./summary.ts";

/** Number, mean and spread of the values of one group. */
export interface GroupSummary {
  n: number;
  mean: number;
  /** divisor n − 1; counts only where n > 1 */
  sd: number;
}

/** One-way analysis of variance of k groups with N values. */
export interface OneWayAnova {
  /** mean of all values */
  mean: number;
  between: {squares: number; df: number; meanSquare: number};
  /** meanSquare null where every group has one value */
  within: {squares: number; df: number; meanSquare: number | null};
  /** null where nothing varies within the groups, or every group has one value */
  f: number | null;
  /** p-value of "all groups have one mean"; null as f */
  p: number | null;
  /** share of the sum of squares that lies between the groups; null where all values are alike */
  rSquared: number | null;
  /** spread within groups, √(mean square); null as that */
  withinSd: number | null;
  /**
   * spread of the true group means by the method of moments, √((between − within)/n₀), 0 where that is negative; n₀ is the
   * number a group, for unequal groups (N − Σn²/N)/(k − 1); null as withinSd
   */
  betweenSd: number | null;
}

/**
 * One-way analysis of variance of the values of k ≥ 2 groups.
 *
 * The first value is taken off all others first, so that constant leading digits do no harm: the NIST problems with
 * 13 of them come out as well as a double can hold their numbers.
 *
 * @throws {RangeError} fewer than 2 groups, an empty one, a value not finite
 */
export function oneWayAnova(groups: readonly ArrayLike<number>[]): OneWayAnova {
  requireWhole("oneWayAnova", groups.length, "number of groups", 2);
  groups.forEach((group, i) => {
    requireValues("oneWayAnova", group, `values of group ${i + 1}`);
  });
  const offset = groups[0][0];
  const summaries = groups.map(group => {
    const values = Float64Array.from(group, value => value - offset);
    const mean = plainMean(values);
    return {n: values.length, mean, sd: values.length < 2 ? 0 : Math.sqrt(plainVariance(values, mean))};
  });
  const found = analyse(summaries);
  return {...found, mean: found.mean + offset};
}

/**
 * The same from number, mean and standard deviation of each group.
 *
 * @throws {RangeError} fewer than 2 groups, a number not finite, n not a whole number ≥ 1, sd negative
 */
export function oneWayAnovaOfSummaries(groups: readonly GroupSummary[]): OneWayAnova {
  const caller = "oneWayAnovaOfSummaries";
  requireWhole(caller, groups.length, "number of groups", 2);
  for (const {n, mean, sd} of groups) {
    requireWhole(caller, n, "n");
    requireValues(caller, [mean, sd], "mean and sd");
    if (sd !== 0) requirePositive(caller, sd, "sd");
  }
  const offset = groups[0].mean;
  const found = analyse(groups.map(group => ({...group, mean: group.mean - offset})));
  return {...found, mean: found.mean + offset};
}

function analyse(groups: readonly GroupSummary[]): OneWayAnova {
  let all = 0;
  let sum = 0;
  let numbers = 0;
  for (const {n, mean} of groups) {
    all += n;
    sum += n * mean;
    numbers += n * n;
  }
  const mean = sum / all;
  let squaresBetween = 0;
  let squaresWithin = 0;
  for (const group of groups) {
    squaresBetween += group.n * (group.mean - mean) ** 2;
    if (group.n > 1) squaresWithin += (group.n - 1) * group.sd ** 2;
  }
  const dfBetween = groups.length - 1;
  const dfWithin = all - groups.length;
  const between = {squares: squaresBetween, df: dfBetween, meanSquare: squaresBetween / dfBetween};
  const within = {
    squares: squaresWithin,
    df: dfWithin,
    meanSquare: dfWithin > 0 ? squaresWithin / dfWithin : null,
  };
  const f =
    within.meanSquare !== null && within.meanSquare > 0 ? between.meanSquare / within.meanSquare : null;
  const perGroup = (all - numbers / all) / dfBetween;
  return {
    mean,
    between,
    within,
    f,
    p: f === null ? null : fUpperTail(f, dfBetween, dfWithin),
    rSquared: squaresBetween + squaresWithin > 0 ? squaresBetween / (squaresBetween + squaresWithin) : null,
    withinSd: within.meanSquare === null ? null : Math.sqrt(within.meanSquare),
    betweenSd:
      within.meanSquare === null
        ? null
        : Math.sqrt(Math.max(0, between.meanSquare - within.meanSquare) / perGroup),
  };
}
