import type {OrderName} from "../result/session.ts";
import {DEFAULT_POWER, tTestPower} from "../stats/power.ts";
import {householderQr, invertTriangle, type Term} from "../stats/qr.ts";
import {createRandom, type Random} from "../stats/random.ts";
import {findRoot} from "../stats/root.ts";
import {welchPower} from "../stats/welch-power.ts";
import {answer} from "./answer.ts";
import {MIN_RESIDUAL_DF, MIN_RUNS_PER_ARM} from "./effect.ts";
import {planModel, type TrialRun} from "./model.ts";
import {countDeals, type Deal, drawDeal, listDeals, orderProblem} from "./plan.ts";

/** A plan whose power is asked. */
export interface PowerPlan {
  order: OrderName;
  runs: number;
  /** runs alternate out and back, so that direction is a term of the model; default false */
  bothDirections?: boolean;
}

/** Orders whose standard errors are averaged: they differ by a few per cent, and so many pin their mean to a tenth of that. */
const N_ORDERS = 100;
/** Larger differences than this, in spreads of a run, need no test. */
const LARGEST = 1_000;

/**
 * Chance that a plan shows a true difference, by noncentral t over the orders that the plan may deal.
 *
 * Pairs, drift and direction cost the degrees of freedom and the precision that they cost in the comparison; two means are compared by
 * Welch's t, whose own degrees of freedom are averaged over.
 *
 * @param difference true difference in spreads of one run (standard deviation), ≥ 0
 * @param options    level, default 0.95
 * @returns null where the plan has too few runs for an interval
 * @throws {RangeError} the order cannot be dealt for this number of runs, a difference below 0
 */
export function planPower(
  plan: PowerPlan,
  difference: number,
  {level = 0.95}: {level?: number} = {},
): number | null {
  const designs = designsOf(plan);
  return designs && powerOf(plan, designs, difference, level);
}

/**
 * Smallest true difference that a plan shows with the given chance, in spreads of one run: multiply by the spread that repeated runs
 * of one arm have.
 *
 * @param options level, default 0.95; power, default 0.8
 * @returns null where the plan has too few runs for an interval
 * @throws {RangeError} as `planPower`
 */
export function smallestShown(
  plan: PowerPlan,
  {level = 0.95, power = DEFAULT_POWER}: {level?: number; power?: number} = {},
): number | null {
  const designs = designsOf(plan);
  return designs && findRoot(difference => powerOf(plan, designs, difference, level) - power, 0, LARGEST);
}

/**
 * The same chance by simulation: orders dealt, runs with normal noise and the true difference, each day answered as `compare` does.
 *
 * @param options days, default 2000; level, default 0.95; seed
 * @returns share of days on which the difference is shown with its sign; null as `planPower`
 */
export function simulatePower(
  plan: PowerPlan,
  difference: number,
  {days = 2_000, level = 0.95, seed}: {days?: number; level?: number; seed: number},
): number | null {
  if (designsOf(plan) === null) return null;
  const random = createRandom(seed, "power");
  const options = {
    plan: {order: plan.order, runs: plan.runs, seed: null, looks: 1, locked: null},
    level,
    worthwhile: 1,
    better: "higher" as const,
  };
  let shown = 0;
  for (let day = 0; day < days; day++) {
    const runs = runsOf(
      plan,
      drawDeal(plan.order, plan.runs, random),
      changed => difference * changed + random.normal(),
    );
    if (answer(runs, options).effect.interval!.low > 0) shown++;
  }
  return shown / days;
}

/** Orders whose standard errors differ by less than this part are taken together: it moves their power by less than 1e-5. */
const ALIKE = 0.01;

/** Precision and degrees of freedom of the effect under orders that are alike in it. */
interface Design {
  /** mean of these orders */
  standardErrorFactor: number;
  df: number;
  orders: number;
}

function designsOf(plan: PowerPlan): Design[] | null {
  const problem = orderProblem(plan.order, plan.runs);
  if (problem) throw new RangeError(`planPower: ${problem}`);
  const designs: Design[] = [];
  for (const {standardErrorFactor: factor, df} of ordersOf(plan).flatMap(deal => designOf(plan, deal))) {
    const like = designs.find(
      design => design.df === df && Math.abs(design.standardErrorFactor / factor - 1) < ALIKE,
    );
    if (like) {
      like.orders++;
      like.standardErrorFactor += (factor - like.standardErrorFactor) / like.orders;
    } else designs.push({standardErrorFactor: factor, df, orders: 1});
  }
  const isEnough =
    plan.runs >= 2 * MIN_RUNS_PER_ARM && designs.length > 0 && designs[0].df >= MIN_RESIDUAL_DF;
  return isEnough ? designs : null;
}

function ordersOf({order, runs}: PowerPlan): Deal[] {
  if (countDeals(order, runs) <= N_ORDERS) return [...listDeals(order, runs)];
  const random: Random = createRandom(0, "orders of a plan");
  return Array.from({length: N_ORDERS}, () => drawDeal(order, runs, random));
}

/** Empty where the order confounds the arm with a term. */
function designOf(plan: PowerPlan, deal: Deal): Omit<Design, "orders">[] {
  const {terms} = planModel(
    runsOf(plan, deal, () => 0),
    {order: plan.order, runs: plan.runs, seed: null, looks: 1, locked: null},
  );
  const factor = armFactor(terms);
  return factor === null ? [] : [{standardErrorFactor: factor, df: plan.runs - terms.length}];
}

function armFactor(terms: readonly Term[]): number | null {
  const qr = householderQr(terms.map(term => term.values));
  if (qr.dependent !== null) return null;
  return Math.abs(invertTriangle(qr)[terms.length ** 2 - 1]); // the arm is the last term, and R⁻¹ a triangle
}

/** Two means are compared by Welch's t, every other model by least squares. */
function powerOf(plan: PowerPlan, designs: readonly Design[], difference: number, level: number): number {
  const isTwoMeans = plan.order === "complete" && !plan.bothDirections;
  return isTwoMeans ? welchPower(difference, plan.runs / 2, {level}) : powerOver(designs, difference, level);
}

function powerOver(designs: readonly Design[], difference: number, level: number): number {
  let sum = 0;
  let orders = 0;
  for (const design of designs) {
    sum += design.orders * tTestPower(difference, {...design, level});
    orders += design.orders;
  }
  return sum / orders;
}

function runsOf({bothDirections}: PowerPlan, deal: Deal, value: (changed: number) => number): TrialRun[] {
  return Array.from(deal, (changed, i) => ({
    run: i + 1,
    arm: changed ? "changed" : "baseline",
    value: value(changed),
    block: null,
    direction: bothDirections ? (i % 2 ? "back" : "out") : null,
    timeS: null,
    refitted: false,
  }));
}
