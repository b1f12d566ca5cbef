import {randomInt} from "node:crypto";
import type {PlanChoiceRecord, PlanDocument} from "../result/plan-document.ts";
import type {OrderName, Session} from "../result/session.ts";
import {isLimited, type SchedulePlan} from "../trial/order-limits.ts";
import {orderProblem, orderStep} from "../trial/plan.ts";
import {smallestShown} from "../trial/plan-power.ts";
import {MOST_RUNS, ORDER_NAMES, orderChoice, runsNeeded} from "../trial/schedule.ts";
import {wrongOption} from "./options.ts";
import type {PlanOptions} from "./plan.ts";
import type {PlanSpread} from "./plan-spread.ts";

/** Numbers of runs that are tried where nothing is asked: the smallest that shows the worthwhile difference is taken. */
const USUAL_RUNS = [12, 16] as const;
/** Other numbers of runs in the table of choices. */
const SHOWN_RUNS = [8, 12, 16, 20] as const;
/** Seeds drawn are below this, so that they can be read out. */
const SEEDS = 1_000_000;

/** A plan with nothing left open. */
export interface ChosenPlan extends SchedulePlan {
  seed: number;
  looks: number;
  refit: boolean;
}

interface Known {
  known: PlanSpread;
  /** 0 … 1 */
  chance: number;
}

/** What the session or the options leave open is chosen here. */
export function choose(session: Session, options: PlanOptions, {known, chance}: Known): ChosenPlan {
  const {plan, level} = session;
  const order = orderOption(options.order) ?? plan?.order ?? "drift-balanced";
  const ways = options.bothWays ? "both" : (plan?.ways ?? "one");
  const mostChanges = options.mostChanges ?? plan?.mostChanges ?? null;
  if (mostChanges === 0)
    throw wrongOption("--most-changes is 0, and without a change of part nothing is compared");
  const difference = worthwhileInSpreads(session, known);
  const enough = (runs: number) =>
    difference !== null &&
    (smallestShown({order, runs, bothDirections: ways === "both"}, {level, power: chance}) ?? Infinity) <=
      difference;
  const runs =
    options.runs ??
    plan?.runs ??
    (difference === null || enough(USUAL_RUNS[0]) ? USUAL_RUNS[0] : USUAL_RUNS[1]);
  const problem = orderProblem(order, runs);
  if (problem) {
    const step = orderStep(order);
    throw wrongOption(
      problem,
      `take ${Math.max(step, Math.round(runs / step) * step)} runs, or another order`,
    );
  }
  if (runs > MOST_RUNS)
    throw wrongOption(`${runs} runs are more than a plan holds (${MOST_RUNS})`, "take fewer");
  return {
    order,
    runs,
    ways,
    mostChanges,
    seed: options.seed ?? plan?.seed ?? randomInt(SEEDS),
    looks: plan?.looks ?? 1,
    refit: options.refit ?? plan?.refit ?? false,
  };
}

/** The worthwhile difference in spreads of one run, or null where they have no common unit. */
function worthwhileInSpreads({worthwhile}: Session, {spread, typical}: PlanSpread): number | null {
  if (worthwhile.unit === spread.unit) return worthwhile.value / spread.value;
  if (typical === null) return null;
  const inUnit = (value: number, unit: string) => (unit === "%" ? (value / 100) * typical : value);
  return inUnit(worthwhile.value, worthwhile.unit) / inUnit(spread.value, spread.unit);
}

/** What each order offers at the number of runs chosen, and the chosen order at others. */
export function choicesOf(
  plan: ChosenPlan,
  {known, chance, level}: Known & {level: number},
): PlanChoiceRecord[] {
  const {ways, mostChanges} = plan;
  const rows: [OrderName, number][] = [
    ...ORDER_NAMES.map((order): [OrderName, number] => [order, plan.runs]),
    ...SHOWN_RUNS.filter(runs => runs !== plan.runs).map((runs): [OrderName, number] => [plan.order, runs]),
  ];
  return rows.map(([order, runs]) => {
    const {smallestShown: shown, ...choice} = orderChoice(
      {order, runs, ways, mostChanges},
      {level, power: chance},
    );
    return {
      order,
      runs,
      orders: choice.orders,
      floor: choice.floor,
      shows: shown === null ? null : shown * known.spread.value,
      problem: choice.problem,
    };
  });
}

/** What the plan can show against what was asked. */
export function powerOf(
  session: Session,
  plan: ChosenPlan,
  {known, chance}: Known,
): NonNullable<PlanDocument["power"]> {
  const {level} = session;
  const {spread} = known;
  const {order, runs, ways = "one"} = plan;
  const shown = smallestShown({order, runs, bothDirections: ways === "both"}, {level, power: chance});
  const difference = worthwhileInSpreads(session, known);
  const needed = difference === null ? null : runsNeeded(order, difference, {level, power: chance, ways});
  const print = (value: number) => `${Number(value.toPrecision(2))} ${spread.unit}`;
  const percent = `${Number((100 * chance).toPrecision(3))} %`;
  const shows = shown === null ? null : shown * spread.value;
  const what =
    shows === null
      ? `${runs} runs in this order give no interval: at least 3 runs an arm and 3 degrees of freedom are needed, so nothing can be shown`
      : `${runs} runs show a true difference of ${print(shows)} with a chance of ${percent}; smaller ones mostly stay not settled`;
  const asked =
    difference === null
      ? "the worthwhile difference has another unit; --band-time relates them"
      : `the worthwhile difference is ${print(difference * spread.value)}, and ${
          needed === null
            ? `no day of up to ${MOST_RUNS} runs shows it so often: lower the spread, or do not bother`
            : `${needed} runs show it with that chance`
        }`;
  return {
    chance,
    level,
    shows,
    unit: spread.unit,
    worthwhile: difference === null ? null : difference * spread.value,
    runs_needed: needed,
    words: `${what}; ${asked}`,
  };
}

/** What to know of a plan before it is driven. */
export function cautionsOf(session: Session, plan: ChosenPlan, {power}: PlanDocument): string[] {
  const {orders, floor} = orderChoice(plan, {level: session.level});
  const limits = isLimited(plan)
    ? `${plan.mostChanges === null || plan.mostChanges === undefined ? "" : `at most ${plan.mostChanges} changes of part, `}${plan.ways === "both" ? "each arm as often out as back, " : ""}`
    : "";
  return [
    `${limits}the lot draws among ${orders} orders, so the smallest p by lot is ${Number(floor!.toPrecision(2))}${floor! > 0.05 ? ": below 0.05 is out of reach by lot alone, and the verdict rests on the model" : ""}`,
    ...(power?.shows != null && power.worthwhile !== null && power.shows > power.worthwhile
      ? ["this plan is too small for the question: a part that is worth it would mostly be left not settled"]
      : []),
    ...(session.road === null
      ? ["the session says nothing of the road: a closed or permitted one, at legal speed"]
      : []),
    ...(plan.refit
      ? [
          "the part is fitted anew before every run, so that a poor fit is part of the spread and not of one arm",
        ]
      : [
          "runs between two changes of part share one fitting; --refit fits it anew before each, at the minutes that costs",
        ]),
    "where a part touches knock, fuel or boost, the engine's control learns: drive one run after each change that does not count, or the effect looks smaller than it is",
  ];
}

function orderOption(name: string | undefined): OrderName | undefined {
  if (name === undefined || ORDER_NAMES.some(known => known === name)) return name as OrderName | undefined;
  throw wrongOption(`--order is "${name}", which is no order`, `one of ${ORDER_NAMES.join(", ")}`);
}
