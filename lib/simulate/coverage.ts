import {tInterval} from "../stats/interval.ts";
import {type LeastSquaresFit, leastSquares} from "../stats/least-squares.ts";
import type {Term} from "../stats/qr.ts";
import {median} from "../stats/quantile.ts";
import {createRandom} from "../stats/random.ts";
import {randomisationInterval} from "../stats/randomisation-interval.ts";
import {welchDifference} from "../stats/two-sample.ts";
import {estimateEffect} from "../trial/effect.ts";
import {countDeals, type Deal, listDeals} from "../trial/plan.ts";
import {type Ends, studentisedOfResiduals, taughtIntervals} from "./coverage-bootstrap.ts";
import {CASE_POWER, type CoverageCase} from "./coverage-cases.ts";
import {type NumbersDay, numbersDays, numbersEffect, trialRuns} from "./coverage-days.ts";

/** Intervals of the table: the plan's model, its check, the one by lot, and the two that are taught as too short. */
export const COVERAGE_METHODS = ["t", "studentised", "randomisation", "percentile", "bca"] as const;
/** One of the intervals of the table. */
export type CoverageMethod = (typeof COVERAGE_METHODS)[number];

/** How an interval did on the days of a case. */
export interface MethodCoverage {
  /** days with an interval */
  days: number;
  /** share of them whose interval holds the true effect */
  covered: number;
  /** share of days without an effect whose interval is clear of zero */
  false_alarms: number;
  /** in per cent of the band time */
  median_width: number;
}

/** One row of the table of coverage; a method without an interval on these plans is null. */
export interface CoverageRow extends CoverageCase {
  days: number;
  /** why there is no interval at all, or null */
  too_few: string | null;
  methods: Record<CoverageMethod, MethodCoverage | null>;
}

/** How a row is made. */
export interface CoverageOptions {
  days: number;
  seed: number;
  /** default 0.95 */
  level?: number;
  /** default 199: the quantiles at 2.5 and 97.5 % are the 5th from either end, which leaves the mean coverage as it is */
  nResamples?: number;
  /** test inversion walks through all re-deals of the plan, so it gets fewer days; default a fifth */
  randomisationDays?: number;
}

/** A randomisation interval is offered from so many re-deals on … */
const FEWEST_DEALS = 40;
/** … and measured up to so many; beyond it covers as it does here, only finer. */
const MOST_DEALS = 1024;

/**
 * Coverage, width and false alarms of every interval on simulated days of numbers, by the same functions that judge a test (the
 * terms of the plan's model are kept by deal, and the bootstrap is a faster one; tests hold both to the slow way).
 *
 * An effect shifts the values of an arm, and every interval moves with it; so the false alarms are the intervals that miss, except where
 * the effect itself carries over: there days without an effect are simulated beside.
 */
export function coverageRow(from: CoverageCase, options: CoverageOptions): CoverageRow {
  const name = `coverage ${from.order} ${from.runs} ${from.spread} ${from.noise}`;
  const tooFew = tooFewWords(from);
  if (tooFew !== null) return {...from, days: options.days, too_few: tooFew, methods: noMethods()};
  const withPart = missed(from, CASE_POWER, name, options);
  const without = from.noise === "carry-over" ? missed(from, 0, `${name} null`, options) : withPart;
  const methods = noMethods();
  for (const method of COVERAGE_METHODS) {
    const {days, missed: misses, widths} = withPart[method];
    if (days === 0) continue;
    methods[method] = {
      days,
      covered: 1 - misses / days,
      false_alarms: without[method].missed / without[method].days,
      median_width: median(widths),
    };
  }
  return {...from, days: options.days, too_few: null, methods};
}

interface Tally {
  days: number;
  missed: number;
  widths: number[];
}

function missed(
  from: CoverageCase,
  power: number,
  name: string,
  {days, seed, level = 0.95, nResamples = 199, randomisationDays = days / 5}: CoverageOptions,
): Record<CoverageMethod, Tally> {
  const random = createRandom(seed, name);
  const resampling = createRandom(seed, `${name} resamples`);
  const next = numbersDays(from, power, random);
  const truth = numbersEffect(power);
  const deals = listedDeals(from);
  const tally = Object.fromEntries(
    COVERAGE_METHODS.map(method => [method, {days: 0, missed: 0, widths: []}]),
  ) as unknown as Record<CoverageMethod, Tally>;
  const enter = (method: CoverageMethod, ends: Ends | null) => {
    if (ends === null) return;
    const of = tally[method];
    of.days++;
    of.widths.push(ends.high - ends.low);
    if (ends.low > truth || ends.high < truth) of.missed++;
  };
  for (let day = 0; day < days; day++) {
    const numbers = next();
    const fit = leastSquares(numbers.values, pairsFirst(numbers.terms));
    enter("t", planInterval(numbers, fit, level));
    const {interval, shifts} = studentisedOfResiduals(fit, {level, nResamples, random: resampling});
    enter("studentised", interval);
    const pairs = from.order === "pairs" ? true : from.order === "complete" ? false : null;
    const taught = taughtIntervals(numbers, {fit, shifts, pairs, level, random: resampling});
    enter("percentile", taught.percentile);
    enter("bca", taught.bca);
    if (deals !== null && day < randomisationDays) {
      const terms = numbers.terms.slice(1, -1);
      enter("randomisation", randomisationInterval(numbers.values, numbers.deal, deals, {terms, level}));
    }
  }
  return tally;
}

/** The main interval of the plan, by the parts of `estimateEffect` without its search for aliased terms. */
export function planInterval({deal, values, terms}: NumbersDay, fit: LeastSquaresFit, level: number): Ends {
  const last = terms.length - 1;
  if (last > 1) {
    return tInterval(fit.coefficients[last], fit.standardErrors![last], {df: fit.df, level, method: "t"});
  }
  const arm = (label: number) => values.filter((_, i) => deal[i] === label);
  return welchDifference(arm(0), arm(1), {level}).interval!;
}

/** The other terms in reverse: pair by pair they then touch no run in common, and the mean what is left of the first pair. */
function pairsFirst(terms: readonly Term[]): Term[] {
  return [...terms.slice(0, -1).reverse(), terms[terms.length - 1]];
}

function tooFewWords({order, runs}: CoverageCase): string | null {
  const [deal] = listDeals(order, runs);
  const values = Float64Array.from(deal, (_, i) => 100 + (i % 3)); // any values: what is too few depends on the plan alone
  return estimateEffect(trialRuns(deal, order, values), {
    plan: {order, runs, seed: null, looks: 1, unit: "run", locked: null},
    level: 0.95,
  }).tooFew;
}

function listedDeals({order, runs}: CoverageCase): Deal[] | null {
  const count = countDeals(order, runs);
  return count >= FEWEST_DEALS && count <= MOST_DEALS ? [...listDeals(order, runs)] : null;
}

function noMethods(): CoverageRow["methods"] {
  return {t: null, studentised: null, randomisation: null, percentile: null, bca: null};
}
