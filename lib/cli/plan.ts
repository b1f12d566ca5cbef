import {randomBytes, randomInt} from "node:crypto";
import {existsSync, writeFileSync} from "node:fs";
import {resolve} from "node:path";
import type {Command} from "commander";
import {InputError} from "../result/error.ts";
import type {PlanDocument} from "../result/plan-document.ts";
import type {ArmName, OrderName, Session} from "../result/session.ts";
import {readSession} from "../run/session.ts";
import {changesOf} from "../trial/order-limits.ts";
import {drawSchedule, ORDER_NAMES, orderChoice, scheduledWays} from "../trial/schedule.ts";
import {fixedOf, planLock, type SealKey, sealCommitment} from "../trial/seal.ts";
import type {CommandIO} from "./io.ts";
import {wholeNumberOption, wrongOption} from "./options.ts";
import {tellAnswer} from "./output.ts";
import {type BudgetOptions, dayBudget} from "./plan-budget.ts";
import {type ChosenPlan, cautionsOf, choicesOf, choose, powerOf} from "./plan-choice.ts";
import {requireLegalBand} from "./plan-road.ts";
import {planSpread} from "./plan-spread.ts";
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

const USUAL_CHANCE = 80;

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
      tellAnswer(io, planSession(file, options, io.cwd), {json: options.json, partial: true}, planText);
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

function chanceOption(percent = USUAL_CHANCE): number {
  if (percent >= 10 && percent <= 99.9) return percent / 100;
  throw wrongOption(`--chance is ${percent} %, but a chance from 10 to 99.9 % is needed`, "80 is usual");
}

function numberOption(option: string, written: string): number {
  const value = Number(written);
  if (written.trim() !== "" && Number.isFinite(value) && value > 0) return value;
  throw wrongOption(`${option} is "${written}", but a number above 0 is needed`);
}
