import {randomBytes, randomInt} from "node:crypto";
import {existsSync, writeFileSync} from "node:fs";
import {resolve} from "node:path";
import type {Command} from "commander";
import {InputError} from "../result/error.ts";
import type {PlanChoiceRecord, PlanDocument} from "../result/plan-document.ts";
import type {ArmName, OrderName, Session} from "../result/session.ts";
import {readSession} from "../run/session.ts";
import {changesOf, isLimited, type SchedulePlan} from "../trial/order-limits.ts";
import {orderProblem, orderStep} from "../trial/plan.ts";
import {smallestShown} from "../trial/plan-power.ts";
import {
  drawSchedule,
  MOST_RUNS,
  ORDER_NAMES,
  orderChoice,
  runsNeeded,
  scheduledWays,
} from "../trial/schedule.ts";
import {fixedOf, planLock, type SealKey, sealCommitment} from "../trial/seal.ts";
import type {CommandIO} from "./io.ts";
import {wholeNumberOption, wrongOption} from "./options.ts";
import {documentText, tellError} from "./output.ts";
import {type BudgetOptions, dayBudget} from "./plan-budget.ts";
import {requireLegalBand} from "./plan-road.ts";
import {type PlanSpread, planSpread} from "./plan-spread.ts";
import {planText} from "./plan-text.ts";
import {typedOrder} from "./plan-typed.ts";
import {writeKeys} from "./plan-write.ts";
import {runSheet} from "./run-sheet.ts";

export interface PlanOptions extends BudgetOptions {
  order?: OrderName;
  runs?: number;
  seed?: number;
  /** chance to show the worthwhile difference, in per cent */
  chance?: number;
  spread?: string;
  from?: string;
  bandTime?: string;
  bothWays?: boolean;
  mostChanges?: number;
  refit?: boolean;
  /** an order typed by hand, to be looked at */
  typed?: string;
  sheet?: string;
  seal?: string;
  json?: boolean;
}

/** Numbers of runs that are tried where nothing is asked: the smallest that shows the worthwhile difference is taken. */
const USUAL_RUNS = [12, 16] as const;
/** Other numbers of runs in the table of choices. */
const SHOWN_RUNS = [8, 12, 16, 20] as const;
const USUAL_CHANCE = 80;
/** Seeds drawn are below this, so that they can be read out. */
const SEEDS = 1_000_000;

/** `fairpull plan SESSION`: what a day can show, the order by lot, the run sheet, sealed labels. */
export function registerPlan(program: Command, io: CommandIO): void {
  const number = (option: string) => (text: string) => numberOption(option, text);
  program
    .command("plan")
    .description("before the day: runs needed, what they can show, an order by lot, locked into the session")
    .argument("<session>", "the session file (YAML), before its runs")
    .option(
      "--order <name>",
      `one of ${ORDER_NAMES.join(", ")} (default: the session's, else drift-balanced)`,
    )
    .option("--runs <number>", "counted runs (default: the session's, else 12 or 16)", text =>
      wholeNumberOption("--runs", text),
    )
    .option("--seed <number>", "seed of the draw (default: the session's plan, else by lot)", text =>
      wholeNumberOption("--seed", text),
    )
    .option(
      "--chance <percent>",
      "chance to show the worthwhile difference (default: 80)",
      number("--chance"),
    )
    .option(
      "--spread <spread>",
      "spread of single runs, 1.5% of their value or 0.08s (default: 1.5%, common practice)",
    )
    .option("--from <session>", "take the spread of a past session")
    .option("--band-time <time>", "about how long a pull takes, to relate seconds to per cent")
    .option("--both-ways", "runs alternate out and back, each arm as many out as back")
    .option("--most-changes <number>", "at most so many changes of part", text =>
      wholeNumberOption("--most-changes", text),
    )
    .option("--refit", "fit the part anew before every run, also where it stays the same")
    .option(
      "--typed <letters>",
      "look at an order typed by hand, such as ABBABAAB (A = baseline), and write nothing",
    )
    .option(
      "--minutes-per-run <minutes>",
      "run, way back and notes (default: 6)",
      number("--minutes-per-run"),
    )
    .option(
      "--minutes-per-change <minutes>",
      "one change of part (default: 10)",
      number("--minutes-per-change"),
    )
    .option(
      "--litres-per-run <litres>",
      "fuel for a run and its way back (default: 0.4)",
      number("--litres-per-run"),
    )
    .option("--sheet <file>", "write the run sheet, one HTML page to print or fill in on a phone")
    .option("--seal <keyfile>", "name the arms by letters; the file is for the helper who changes the part")
    .option("--json", "print one JSON document")
    .action((file: string, options: PlanOptions) => {
      const {document, exitCode} = planSession(file, options, io.cwd);
      io.exitCode = exitCode;
      if (document.error) tellError(io, document.error);
      if (options.json) io.stdout.write(documentText(document));
      else io.stdout.write(planText(document));
    });
}

/** The document of `plan`; writes the plan into the session, the sheet and the key. A mistake of the user is in `error`. */
export function planSession(
  file: string,
  options: PlanOptions,
  cwd: string,
): {document: PlanDocument; exitCode: 0 | 1 | 2} {
  const document: PlanDocument = {
    format: "fairpull.plan/1",
    session: file,
    question: null,
    plan: null,
    choices: [],
    spread: null,
    power: null,
    budget: [],
    cautions: [],
    seal: null,
    sheet: null,
    written: false,
  };
  try {
    const session = readSession(file, {cwd, beforeRuns: true});
    document.question = session.question;
    requireLegalBand(session);
    requireBefore(session, options);
    const known = planSpread(session, options, cwd);
    document.spread = known.spread;
    if (options.typed !== undefined) throw typedOrder(options.typed);
    const chance = chanceOption(options.chance);
    const plan = choose(session, options, {known, chance});
    document.choices = choicesOf(plan, {known, chance, level: session.level});
    const own = orderChoice(plan, {level: session.level, power: chance});
    if (own.problem)
      throw wrongOption(
        `no plan can be made: ${own.problem}`,
        "choose another number of runs or order, or ask for less",
      );
    document.power = powerOf(session, plan, {known, chance});
    document.cautions = cautionsOf(session, plan, document);
    const arms = drawSchedule(plan);
    document.budget = dayBudget(
      {
        runs: plan.runs,
        fittings: plan.refit ? plan.runs : changesOf(arms) + 1,
        toMps: session.band.toMps,
        massKg: session.vehicle.massKg,
      },
      options,
    );
    for (const [option, path] of [
      ["--sheet", options.sheet],
      ["--seal", options.seal],
    ] as const)
      if (path !== undefined) requireNew(option, path, cwd);
    lockAndWrite(document, session, {plan, arms, options, cwd});
    return {document, exitCode: 0};
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return {document: {...document, error: error.details}, exitCode: error.exitCode};
  }
}

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
function choose(session: Session, options: PlanOptions, {known, chance}: Known): ChosenPlan {
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

function choicesOf(plan: ChosenPlan, {known, chance, level}: Known & {level: number}): PlanChoiceRecord[] {
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

function powerOf(
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

function cautionsOf(session: Session, plan: ChosenPlan, {power}: PlanDocument): string[] {
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
  ];
}

function lockAndWrite(
  document: PlanDocument,
  session: Session,
  {plan, arms, options, cwd}: {plan: ChosenPlan; arms: ArmName[]; options: PlanOptions; cwd: string},
): void {
  const isNew = session.plan?.locked == null;
  const written = session.written["plan"] as Record<string, unknown> | undefined;
  const fixed = fixedOf(session.written);
  const keys = {
    ...written,
    order: plan.order,
    runs: plan.runs,
    seed: plan.seed,
    looks: plan.looks,
    ...((plan.ways === "both" || written?.["ways"] !== undefined) && {ways: plan.ways}),
    ...(plan.mostChanges !== null && {mostChanges: plan.mostChanges}),
    ...(plan.refit && {refit: true}),
    fixed,
  };
  const locked = isNew ? planLock(fixed, keys) : session.plan!.locked!;
  const key: SealKey | null =
    options.seal === undefined
      ? null
      : {
          format: "fairpull.seal/1",
          salt: randomBytes(32).toString("hex"),
          letters: randomInt(2) === 1 ? {A: "changed", B: "baseline"} : {A: "baseline", B: "changed"},
          locked,
        };
  const commitment = key ? sealCommitment(key) : (session.seal?.commitment ?? null);
  if (isNew || key) {
    writeKeys(session.file, cwd, {
      ...(isNew && {plan: {...keys, locked}}),
      ...(key && {seal: {commitment: commitment!}}),
    });
    document.written = true;
  }
  if (key) {
    const names = session.written["arms"] as Record<ArmName, string>;
    const words = `for the helper who changes the part, and nobody else until the runs are judged: A is ${names[key.letters.A]}, B is ${names[key.letters.B]}`;
    writeFileSync(resolve(cwd, options.seal!), `${JSON.stringify({...key, words}, null, 2)}\n`, {flag: "wx"});
  }
  if (commitment !== null) document.seal = {commitment, key: options.seal ?? null};
  const nameOf = (arm: ArmName) => (commitment === null ? arm : arm === "baseline" ? "A" : "B");
  const ways = scheduledWays(plan);
  document.plan = {
    order: plan.order,
    runs: plan.runs,
    seed: plan.seed,
    looks: plan.looks,
    ways: plan.ways ?? "one",
    refit: plan.refit,
    most_changes: plan.mostChanges ?? null,
    locked,
    schedule: arms.map((arm, i) => ({run: i + 1, arm: nameOf(arm), direction: ways[i]})),
    changes: changesOf(arms),
  };
  if (options.sheet !== undefined) {
    const html = runSheet(session, document);
    writeFileSync(resolve(cwd, options.sheet), html, {flag: "wx"});
    document.sheet = options.sheet;
  }
}

/** A locked plan stays as it is, and a session with runs is not planned any more. */
function requireBefore(session: Session, options: PlanOptions): void {
  const refuse = (words: string, hint: string): never => {
    throw new InputError(2, {code: "plan-locked", file: session.file, words, hint});
  };
  const isLocked = session.plan?.locked != null;
  if (session.runs.length > 0 && (!isLocked || options.seal !== undefined)) {
    refuse(
      `the session holds ${session.runs.length} runs already, and a plan is made before them`,
      "plan a new session; what was driven is judged as not planned",
    );
  }
  if (options.seal !== undefined && session.seal !== null) {
    refuse(
      "the labels are sealed already",
      "the helper has the key; a lost key needs a new session and a new draw",
    );
  }
  if (!isLocked) return;
  const {order, runs, bothWays, mostChanges, refit, seed} = options;
  if ([order, runs, bothWays, mostChanges, refit, seed].some(option => option !== undefined)) {
    refuse(
      "the plan is locked, and what was drawn is not drawn again",
      "leave out --order, --runs, --seed and the like, or plan a new session",
    );
  }
  if (
    planLock(
      session.plan!.fixed ?? fixedOf(session.written),
      session.written["plan"] as object as Record<string, unknown>,
    ) !== session.plan!.locked
  ) {
    refuse(
      "the plan was changed after it was locked: its hash does not fit",
      "restore it, or plan a new session",
    );
  }
}

function requireNew(option: string, file: string, cwd: string): void {
  if (!existsSync(resolve(cwd, file))) return;
  throw new InputError(2, {
    code: "file-exists",
    words: `this file is there already, and ${option} overwrites nothing`,
    file,
    hint: "name another file, or move this one away",
  });
}

function orderOption(name: string | undefined): OrderName | undefined {
  if (name === undefined || ORDER_NAMES.some(known => known === name)) return name as OrderName | undefined;
  throw wrongOption(`--order is "${name}", which is no order`, `one of ${ORDER_NAMES.join(", ")}`);
}

function chanceOption(percent = USUAL_CHANCE): number {
  if (percent >= 10 && percent <= 99.9) return percent / 100;
  throw wrongOption(`--chance is ${percent} %, but a chance from 10 to 99.9 % is needed`, "80 is usual");
}

function numberOption(option: string, written: string): number {
  const value = Number(written);
  if (written.trim() !== "" && Number.isFinite(value) && value > 0) return value;
  throw wrongOption(`${option} is "${written}", but a number above 0 is needed`);
}
