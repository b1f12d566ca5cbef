import type {Plan} from "../result/session.ts";
import {studentTQuantile} from "../stats/distributions.ts";
import type {Random} from "../stats/random.ts";
import {type Effect, MIN_RESIDUAL_DF, MIN_RUNS_PER_ARM} from "./effect.ts";
import type {ModelKind} from "./model.ts";
import {orderStep} from "./plan.ts";

/** Simulated days for each number of runs: shares are good to 2 %. */
const N_DAYS = 600;
/** More runs than this are no day's work. */
export const MOST_RUNS = 120;
/** "About so many": settled on half of the days … */
const EVEN = 0.5;
/** … and "to be fairly sure". */
const LIKELY = 0.8;

/** What is open. */
export type Open = "difference" | "size";

/** What would settle it: a new planned test, or the next look of the sequence that this day belongs to. */
export interface Further {
  kind: "new-test" | "next-look";
  /** runs of a new test that settle it on half of the days; runs still to drive until the next look; null = more than 120 */
  runs: number | null;
  /** runs of a new test that settle it on four days of five; null for a look, or where it is more than 120 */
  likelyRuns: number | null;
  /** chance that the next look settles it, null for a new test */
  chance: number | null;
}

/** What the answer of today rests on. */
export interface Today {
  effect: Effect;
  plan: Plan | null;
  level: number;
  worthwhile: number;
  random: Random;
}

/**
 * Number of further runs that would settle an open question, by simulation from today's runs.
 *
 * Each simulated day has a true difference and spread drawn from what today's runs leave possible (normal noise, flat prior: the
 * difference from Student's t about the estimate, the variance from today's over χ²/df), and is judged by the rules of the verdict. Today's runs do
 * not count again in a new test; at the next look of a planned sequence they do. Beside the truth on simulated days the median is within a factor
 * of 1.5 (test/trial/further-runs).
 *
 * @param open "difference": settled by an interval clear of zero or by equivalence; "size": by one clear of the worthwhile difference
 * @returns null without a spread
 */
export function furtherRuns(open: Open, today: Today): Further | null {
  const {effect, plan} = today;
  const {fit, look, model} = effect;
  if (!fit?.standardError || !fit.residualSd || fit.df === null) return null;
  const next = look.kind === "grown" ? undefined : look.plannedAt.find(n => n > look.runs);
  const days = drawDays(today, fit.df);
  if (next !== undefined) {
    const share = shareAtNextLook(open, days, {...today, share: look.runs / next});
    return {kind: "next-look", runs: next - look.runs, likelyRuns: null, chance: share};
  }
  const step = plan ? orderStep(plan.order) : 2;
  const spreads = new Spreads(today.random);
  let runs: number | null = null;
  for (let n = step; n <= MOST_RUNS; n += step) {
    const df = residualDf(model.kind, n, both(effect));
    if (n < 2 * MIN_RUNS_PER_ARM || df < MIN_RESIDUAL_DF) continue;
    const share = shareOfNewTests(open, days, {...today, runs: n, spreads: spreads.of(df)});
    if (share >= EVEN) runs ??= n;
    if (share >= LIKELY) return {kind: "new-test", runs, likelyRuns: n, chance: null};
  }
  return {kind: "new-test", runs, likelyRuns: null, chance: null};
}

/** Residual degrees of freedom of a plan's model with n runs. */
export function residualDf(kind: ModelKind, n: number, bothDirections: boolean): number {
  const terms = kind === "pairs" ? n / 2 + 1 : kind === "drift" ? 3 : 2;
  return n - terms - (bothDirections ? 1 : 0);
}

function both({model}: Effect): boolean {
  return model.terms.some(term => term.name === "direction");
}

/** Truths that today's runs leave possible. */
interface Days {
  /** difference less today's estimate, over today's standard error */
  shift: Float64Array;
  /** spread over today's */
  scale: Float64Array;
}

function drawDays({random}: Today, df: number): Days {
  const shift = new Float64Array(N_DAYS);
  const scale = new Float64Array(N_DAYS);
  for (let day = 0; day < N_DAYS; day++) {
    scale[day] = 1 / meanSquareRoot(random, df);
    shift[day] = scale[day] * random.normal();
  }
  return {shift, scale};
}

/** What the spread of each day comes out as over the true one, for growing degrees of freedom: the same days go on. */
class Spreads {
  readonly #random: Random;
  readonly #squares = new Float64Array(N_DAYS);
  #df = 0;

  constructor(random: Random) {
    this.#random = random;
  }

  of(df: number): {df: number; ratios: Float64Array} {
    for (; this.#df < df; this.#df++) {
      for (let day = 0; day < N_DAYS; day++) this.#squares[day] += this.#random.normal() ** 2;
    }
    return {df, ratios: this.#squares.map(square => Math.sqrt(square / df))};
  }
}

function shareOfNewTests(
  open: Open,
  {shift, scale}: Days,
  {
    effect,
    level,
    worthwhile,
    random,
    runs,
    spreads: {df, ratios},
  }: Today & {runs: number; spreads: {df: number; ratios: Float64Array}},
): number {
  const {estimate, standardError} = effect.fit!;
  const factor = standardError! * inflation(effect, runs);
  const wide = studentTQuantile((1 + level) / 2, df);
  const narrow = studentTQuantile(level, df);
  let settled = 0;
  for (let day = 0; day < N_DAYS; day++) {
    const noise = scale[day] * factor;
    const seen = estimate + shift[day] * standardError! + noise * random.normal();
    const spread = noise * ratios[day];
    if (isSettled(open, {seen: Math.abs(seen), wide: wide * spread, narrow: narrow * spread, worthwhile}))
      settled++;
  }
  return settled / N_DAYS;
}

/**
 * At the next look the estimate is a mean of today's and of the runs to come, weighed by their numbers; the boundary is taken as the plain t
 * quantile, which early looks exceed and the last one nearly keeps.
 */
function shareAtNextLook(
  open: Open,
  {shift, scale}: Days,
  {effect, level, worthwhile, random, share}: Today & {share: number},
): number {
  const {estimate, standardError, df} = effect.fit!;
  const dfThen = df! / share;
  const wide = studentTQuantile((1 + level) / 2, dfThen);
  const narrow = studentTQuantile(level, dfThen);
  let settled = 0;
  for (let day = 0; day < N_DAYS; day++) {
    const truth = estimate + shift[day] * standardError!;
    const rest = truth + scale[day] * standardError! * Math.sqrt(share / (1 - share)) * random.normal();
    const seen = share * estimate + (1 - share) * rest;
    const spread = standardError! * Math.sqrt(share) * Math.sqrt(share + (1 - share) * scale[day] ** 2);
    if (isSettled(open, {seen: Math.abs(seen), wide: wide * spread, narrow: narrow * spread, worthwhile}))
      settled++;
  }
  return settled / N_DAYS;
}

function isSettled(
  open: Open,
  {seen, wide, narrow, worthwhile}: {seen: number; wide: number; narrow: number; worthwhile: number},
): boolean {
  const equivalent = seen + narrow < worthwhile;
  if (open === "size") return seen > wide && (equivalent || seen - wide >= worthwhile);
  return seen > wide || equivalent;
}

/** Standard error of the effect with n runs, half of each arm, over today's. */
function inflation({model}: Effect, n: number): number {
  const changed = model.runs.filter(run => run.arm === "changed").length;
  const baseline = model.runs.length - changed;
  return Math.sqrt(4 / n / (1 / changed + 1 / baseline));
}

/** √(χ²/df), what a spread comes out as over the true one. */
function meanSquareRoot(random: Random, df: number): number {
  const whole = Math.floor(df);
  let sum = 0;
  for (let k = 0; k < whole; k++) sum += random.normal() ** 2;
  if (df > whole) sum += (df - whole) * random.normal() ** 2;
  return Math.sqrt(sum / df);
}
