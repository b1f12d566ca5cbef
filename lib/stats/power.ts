import {requireFinite, requireFraction, requirePositive, requireWhole} from "./check.ts";
import {fQuantile, normalQuantile, studentTQuantile} from "./distributions.ts";
import {DEFAULT_LEVEL} from "./interval.ts";
import {noncentralFUpperTail} from "./noncentral-f.ts";
import {noncentralTQuantile, noncentralTUpperTail} from "./noncentral-t.ts";
import {findRoot} from "./root.ts";

/** Chance of success that is aimed at where none is given. */
export const DEFAULT_POWER = 0.8;

/** A t test of one effect. */
export interface TTestPlan {
  /** residual degrees of freedom, positive; `Infinity` where the spread is known */
  df: number;
  /** standard error of the effect over the spread of one observation: √(2/n) for two means of n, 1/√n for the mean of n differences */
  standardErrorFactor: number;
  /** 1 − probability of a false alarm, default 0.95 */
  level?: number;
  /** 2 (default): an effect of either sign is looked for; 1: of the sign given only */
  sides?: 1 | 2;
}

/**
 * Chance that a t test finds an effect.
 *
 * Noncentral t. Two-sided tests count what is found with the right sign (R's power.t.test with strict = FALSE), or with
 * `eitherSign` also the wrong one. Absolute error below 1e-9.
 *
 * @param effect  true effect in units of the spread of one observation, ≥ 0
 * @param options the plan; eitherSign, default false
 * @throws {RangeError} effect negative, df or standardErrorFactor not positive, level not between 0 and 1
 */
export function tTestPower(
  effect: number,
  {eitherSign = false, ...plan}: TTestPlan & {eitherSign?: boolean},
): number {
  requireFinite("tTestPower", [effect], "effect");
  if (effect < 0) throw new RangeError(`tTestPower: the effect must be at least 0, but it is ${effect}`);
  requirePositive("tTestPower", plan.standardErrorFactor, "standardErrorFactor");
  return powerAt(effect / plan.standardErrorFactor, criticalT("tTestPower", plan), plan.df, eitherSign);
}

/**
 * Smallest true effect that a plan finds with the given chance, in units of the spread of one observation; multiply by a
 * guess of that spread. The right sign only, as in `tTestPower`.
 *
 * @param plan df, standardErrorFactor, level, sides; power, default 0.8, above 1 − level
 * @throws {RangeError} as `tTestPower`; power not above the probability of a false alarm
 */
export function smallestDetectableEffect({
  power = DEFAULT_POWER,
  ...plan
}: TTestPlan & {power?: number}): number {
  requirePositive("smallestDetectableEffect", plan.standardErrorFactor, "standardErrorFactor");
  const critical = criticalT("smallestDetectableEffect", plan);
  requirePower("smallestDetectableEffect", power, plan.level);
  const miss = (noncentrality: number): number => powerAt(noncentrality, critical, plan.df, false) - power;
  let high = critical + 1;
  while (miss(high) < 0) high *= 2;
  return findRoot(miss, 0, high) * plan.standardErrorFactor;
}

/** What a sample size is asked for. */
export interface TTestAim {
  /** two independent samples of n each, or n pairs */
  design: "two-sample" | "paired";
  power?: number;
  level?: number;
  sides?: 1 | 2;
  eitherSign?: boolean;
}

/**
 * Number of observations in each sample, or of pairs, with which a t test finds an effect with the given chance: the real
 * number at which the power is met, to be rounded up.
 *
 * @param effect true effect in units of the spread of one observation (two samples) or one difference (pairs), positive
 * @returns null where even two a sample suffice or more than 10⁷ are needed
 * @throws {RangeError} effect not positive, power or level out of range
 */
export function tTestSampleSize(
  effect: number,
  {design, power = DEFAULT_POWER, eitherSign, level, sides}: TTestAim,
): number | null {
  requirePositive("tTestSampleSize", effect, "effect");
  requirePower("tTestSampleSize", power, level);
  const miss = (n: number): number => {
    const samples =
      design === "paired"
        ? {df: n - 1, standardErrorFactor: 1 / Math.sqrt(n)}
        : {df: 2 * (n - 1), standardErrorFactor: Math.sqrt(2 / n)};
    return tTestPower(effect, {...samples, level, sides, eitherSign}) - power;
  };
  return rootFromTwo(miss);
}

/** Between-group and within-group variance of a one-way layout of `groups` groups. */
export interface AnovaPlan {
  /** ≥ 2 */
  groups: number;
  /** variance of the true group means, divisor groups − 1 */
  betweenVariance: number;
  /** variance of one observation within its group */
  withinVariance: number;
  /** default 0.95 */
  level?: number;
}

/**
 * Chance that the F test of a one-way layout with n observations a group finds its differences, by noncentral F.
 *
 * @param n observations a group, > 1, need not be whole
 * @throws {RangeError} groups below 2, n ≤ 1, a variance not positive
 */
export function anovaPower(n: number, plan: AnovaPlan): number {
  const {groups, betweenVariance, withinVariance, level = DEFAULT_LEVEL} = plan;
  requireWhole("anovaPower", groups, "groups", 2);
  requirePositive("anovaPower", n - 1, "observations a group above 1");
  requirePositive("anovaPower", betweenVariance, "variance between groups");
  requirePositive("anovaPower", withinVariance, "variance within groups");
  requireFraction("anovaPower", level, "level");
  const df1 = groups - 1;
  const df2 = groups * (n - 1);
  const noncentrality = (df1 * n * betweenVariance) / withinVariance;
  return noncentralFUpperTail(fQuantile(level, df1, df2), {df1, df2, noncentrality});
}

/** Observations a group at which `anovaPower` meets the power, a real number; null as in `tTestSampleSize`. */
export function anovaSampleSize({
  power = DEFAULT_POWER,
  ...plan
}: AnovaPlan & {power?: number}): number | null {
  requirePower("anovaSampleSize", power, plan.level);
  return rootFromTwo(n => anovaPower(n, plan) - power);
}

/**
 * Smallest whole number for which a condition holds, for designs that come in steps.
 *
 * @param holds   true from some number on
 * @param options from: first number tried, default 2; step, default 1; most: last, default 10⁶
 * @returns null where it holds for none of them
 */
export function smallestWhole(
  holds: (n: number) => boolean,
  {from = 2, step = 1, most = 1_000_000}: {from?: number; step?: number; most?: number} = {},
): number | null {
  for (let n = from; n <= most; n += step) if (holds(n)) return n;
  return null;
}

/**
 * Number of observations with which the interval of a mean is estimate ± at most halfWidth.
 *
 * @param sd        spread of one observation, positive
 * @param halfWidth in the unit of sd, positive
 * @param options   level, default 0.95; quantile "t" (default): t of n − 1 degrees of freedom times sd/√n, with the spread
 *   taken as it is given; "normal": for a spread that is known
 * @throws {RangeError} sd or halfWidth not positive, level not between 0 and 1
 */
export function sampleSizeForHalfWidth(
  sd: number,
  halfWidth: number,
  {level = DEFAULT_LEVEL, quantile = "t"}: {level?: number; quantile?: "t" | "normal"} = {},
): number {
  requirePositive("sampleSizeForHalfWidth", sd, "sd");
  requirePositive("sampleSizeForHalfWidth", halfWidth, "halfWidth");
  requireFraction("sampleSizeForHalfWidth", level, "level");
  const p = (1 + level) / 2;
  const normal = Math.ceil(((normalQuantile(p) * sd) / halfWidth) ** 2);
  if (quantile === "normal") return normal;
  // Student's quantile is the larger one, so no smaller number can do.
  let n = Math.max(2, normal);
  while ((studentTQuantile(p, n - 1) * sd) / Math.sqrt(n) > halfWidth) n++;
  return n;
}

/** Sizes asked for lie from here … */
const FEWEST = 2;
/** … to here; whoever needs more needs another method. */
const MOST = 1e7;

function rootFromTwo(miss: (n: number) => number): number | null {
  if (miss(FEWEST) >= 0) return null;
  let high = 4;
  while (high < MOST && miss(high) < 0) high *= 2;
  return high < MOST ? findRoot(miss, Math.max(FEWEST, high / 2), high) : null;
}

function criticalT(caller: string, {df, level = DEFAULT_LEVEL, sides = 2}: TTestPlan): number {
  requireFraction(caller, level, "level");
  const p = 1 - (1 - level) / sides;
  // not jStat's quantile, whose 3e-8 would be the error of the power
  return noncentralTQuantile(p, {df, noncentrality: 0});
}

function powerAt(noncentrality: number, critical: number, df: number, eitherSign: boolean): number {
  const right = noncentralTUpperTail(critical, {df, noncentrality});
  return eitherSign ? right + noncentralTUpperTail(critical, {df, noncentrality: -noncentrality}) : right;
}

function requirePower(caller: string, power: number, level = DEFAULT_LEVEL): void {
  requireFraction(caller, power, "power");
  if (!(power > 1 - level)) {
    throw new RangeError(`${caller}: power ${power} is no more than the false alarms, ${1 - level}`);
  }
}
