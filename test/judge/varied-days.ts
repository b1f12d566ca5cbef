import {readLogBytes} from "../../lib/log/read.ts";
import type {CheckRecord, VerdictState} from "../../lib/result/documents.ts";
import {loadDay} from "../../lib/run/day.ts";
import {readSessionBytes} from "../../lib/run/session.ts";
import {simulateDay} from "../../lib/simulate/day.ts";
import {type EngineColumns, type FaultName, faultyDayFiles} from "../../lib/simulate/faults.ts";
import {SESSION_FILE} from "../../lib/simulate/files.ts";
import {answerDay} from "../../lib/simulate/judged-days.ts";
import type {DayScenario} from "../../lib/simulate/scenario.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {variedScenario} from "../calibrate/varied.ts";

const encoder = new TextEncoder();

/** What was found on a day, and what is true of it. */
export interface CheckedDay {
  state: VerdictState;
  checks: readonly CheckRecord[];
  /** numbers of the runs that have the fault */
  runs: number[];
  /** the day in a line */
  words: string;
}

/** The throttle opens so far below the band [m/s] that even a lively car takes 0.6 s to get to it. */
const ROLL_IN_BELOW_MPS = {from: 3, to: 5};
/** The simulated air cools through the day, and its humidity is that over water [K]. */
const COLDEST_K = 283;

/** A day out of the range that clubs have, with its engine's columns: none on almost half of the days. */
export function variedDay(seed: number): {scenario: DayScenario; columns: EngineColumns; words: string} {
  const random = createRandom(seed, "varied day");
  const varied = variedScenario(seed, 0);
  const {from, to} = ROLL_IN_BELOW_MPS;
  const rollInMps = varied.band.fromMps - from - (to - from) * random.uniform();
  const temperatureK = Math.max(varied.air.temperatureK, COLDEST_K);
  const scenario = {...varied, air: {...varied.air, temperatureK}, driver: {...varied.driver, rollInMps}};
  const told = random.uniform();
  const columns = {throttle: told < 0.35, engineSpeed: told > 0.2 && told < 0.55, gear: told < 0.1};
  const {logger, plan, directions, band} = scenario;
  const names = Object.entries(columns).flatMap(([name, there]) => (there ? [name] : []));
  return {
    scenario,
    columns,
    words: `day ${seed}: ${logger.rateHz} Hz, ${logger.whiteSdMps.toFixed(3)} m/s, ${plan.order} ${plan.runs}, ${directions}, gear ${band.gear}, ${names.join("+") || "speed alone"}`,
  };
}

/** A varied day with a fault, through its files, checked and answered as `judge` does. */
export function checkedDay(seed: number, fault: FaultName | null): CheckedDay {
  const {scenario, columns, words} = variedDay(seed);
  const {files, runs} = faultyDayFiles(simulateDay(scenario, seed), {fault, columns, seed});
  const bytes = (name: string) => encoder.encode(files.get(name)!);
  const session = readSessionBytes(bytes(SESSION_FILE), {file: SESSION_FILE, folder: "."});
  const day = loadDay(session, {
    logNamed: name => readLogBytes(bytes(name), {name, columns: session.columns}),
  });
  const {state, checks} = answerDay(day);
  return {state, checks, runs, words};
}

/** Which checks name which fault: one of them has to be doubtful or failed, and to name a run that has it. */
const NAMED_BY: Record<FaultName, {checks: readonly string[]; words: RegExp; byRun: boolean}> = {
  "late-throttle": {
    checks: ["full throttle", "no wheelspin at entry"],
    words: /opens late|late power/,
    byRun: true,
  },
  lift: {checks: ["full throttle", "no lift or brake inside"], words: /lift/, byRun: true},
  "other-gear": {checks: ["same gear"], words: /gear/, byRun: true},
  "slip-at-entry": {checks: ["no wheelspin at entry"], words: /slip/, byRun: true},
  hole: {checks: ["no hole or poor fix", "every run has its pass"], words: /hole/, byRun: true},
  "fuel-between-arms": {checks: ["fuel"], words: /fuel/, byRun: false},
  "mixed-speed-source": {checks: ["same speed source"], words: /mixed speed sources/, byRun: true},
  "one-changeover": {checks: ["changes of part"], words: /came before all of the other/, byRun: false},
};

/** True where the fault is named, with a run that has it where it is one of runs. */
export function isNamed(fault: FaultName, checks: readonly CheckRecord[], runs: readonly number[]): boolean {
  const {checks: names, words, byRun} = NAMED_BY[fault];
  return checks.some(
    check =>
      names.includes(check.name) &&
      (check.outcome === "doubtful" || check.outcome === "failed") &&
      words.test(check.words) &&
      (!byRun || runs.some(run => new RegExp(`\\b${run}\\b`).test(check.words))),
  );
}

/** Checks that are doubtful or failed. */
export function doubts(checks: readonly CheckRecord[]): CheckRecord[] {
  return checks.filter(check => check.outcome === "doubtful" || check.outcome === "failed");
}
