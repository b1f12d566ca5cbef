import {fairnessChecks} from "../judge/checks.ts";
import {measureNamed} from "../judge/measures.ts";
import {readLogBytes} from "../log/read.ts";
import type {VerdictState} from "../result/documents.ts";
import type {Conditions, Session, SessionRun} from "../result/session.ts";
import {loadDay, type TestDay} from "../run/day.ts";
import {readSessionBytes} from "../run/session.ts";
import {median} from "../stats/quantile.ts";
import {type Answer, answer} from "../trial/answer.ts";
import {plannedLooks} from "../trial/looks.ts";
import type {TrialRun} from "../trial/model.ts";
import {parseQuantity} from "../units/quantity.ts";
import {logCsvBytes} from "./csv.ts";
import {type SimulatedDay, simulateDay} from "./day.ts";
import {SESSION_FILE, sessionText, writtenConditions} from "./files.ts";
import type {DayScenario} from "./scenario.ts";

/** What the whole pipeline said on one simulated day. */
export interface JudgedDay {
  seed: number;
  state: VerdictState;
  /** interval of the effect in the unit of the primary measure, null where there is none */
  interval: {low: number; high: number} | null;
  /** true effect */
  truth: number;
  /** names of the checks that did not hold */
  failed: string[];
  doubtful: string[];
}

const encoder = new TextEncoder();

/**
 * Judges a simulated day as the command would: session and logs written as text, read, sliced, checked, compared; all of it in
 * memory. What `judge` prints beside the answer (bootstrap, re-deals, words) is left out; a test holds state and interval
 * to those of `judge`.
 *
 * @param looks planned looks at the data; the day ends with the first that shows a difference, or with the last
 */
export function judgeSimulatedDay(
  scenario: DayScenario,
  seed: number,
  {looks = 1}: {looks?: number} = {},
): JudgedDay {
  const simulated = simulateDay(scenario, seed);
  const day = dayInMemory(simulated);
  const {plan} = day.session;
  const sequence = looks === 1 ? [day.runs.length] : plannedLooks({...plan!, looks});
  let found: {state: VerdictState; given: Answer; checks: Answer["checks"]} | null = null;
  for (const runs of sequence) {
    found = answerDay(firstRuns(day, runs, looks));
    if (found.state.startsWith("shown")) break;
  }
  const {state, given, checks} = found!;
  const {interval} = given.effect;
  const named = (outcome: string) =>
    checks.filter(check => check.outcome === outcome).map(check => check.name);
  return {
    seed,
    state,
    interval: interval && {low: interval.low, high: interval.high},
    truth: simulated.truth.effect.value,
    failed: named("failed"),
    doubtful: named("doubtful"),
  };
}

/**
 * A simulated day written and read again, without a folder. The session is read from its text once a scenario; of the other days
 * only the runs and the seed of the plan are put in its place, which a test holds to be all that differs.
 */
export function dayInMemory(day: SimulatedDay): TestDay {
  const session = sessionOf(day);
  const logs = new Map(day.runs.map(run => [run.file, logCsvBytes(run)]));
  return loadDay(session, {
    logNamed: file => readLogBytes(logs.get(file)!, {columns: session.columns, name: file}),
  });
}

const KNOWN_SESSIONS = new WeakMap<DayScenario, Session>();

function sessionOf(day: SimulatedDay): Session {
  const {scenario, seed} = day;
  const known = KNOWN_SESSIONS.get(scenario);
  if (known === undefined) {
    const text = encoder.encode(sessionText(day));
    const session = readSessionBytes(text, {file: SESSION_FILE, folder: "."});
    KNOWN_SESSIONS.set(scenario, session);
    return session;
  }
  const runs = day.runs.map((run, i): SessionRun => {
    const {airTemperature, intakeTemperature, fuel, occupants, wind} = writtenConditions(run);
    const conditions: Conditions = {
      ...known.runs[i].conditions,
      airTemperatureK: parseQuantity(airTemperature).si,
      intakeTemperatureK: parseQuantity(intakeTemperature).si,
      fuelM3: parseQuantity(fuel).si,
      occupants,
      windMps: parseQuantity(wind).si,
    };
    const {arm, block, direction, startClock: at} = run;
    return {...known.runs[i], arm, block, direction, at, conditions};
  });
  return {...known, plan: known.plan && {...known.plan, seed}, runs};
}

/** A day after its first runs, as a look of a sequence sees it. */
function firstRuns(day: TestDay, runs: number, looks: number): TestDay {
  const {session} = day;
  const cut: Session = {
    ...session,
    plan: session.plan && {...session.plan, looks},
    runs: session.runs.slice(0, runs),
  };
  return {...day, session: cut, runs: day.runs.slice(0, runs)};
}

/** State and interval of a loaded day, as `judge` comes to them. */
export function answerDay(day: TestDay): {state: VerdictState; given: Answer; checks: Answer["checks"]} {
  const {session, runs} = day;
  const measure = measureNamed(session.primary);
  const values = runs.map(run =>
    run.run.exclude === null ? (measure.value(run, day)?.value ?? null) : null,
  );
  const trial = runs.map(
    ({run, clockS}, i): TrialRun => ({
      run: run.run,
      arm: run.arm,
      value: values[i],
      block: run.block,
      direction: run.direction,
      timeS: clockS,
      refitted: run.refitted,
    }),
  );
  const other = fairnessChecks(
    day,
    runs.filter((_, i) => values[i] !== null),
  );
  const baseline = trial.flatMap(({arm, value}) => (arm === "baseline" && value !== null ? value : []));
  const mean = baseline.reduce((sum, value) => sum + value, 0) / baseline.length;
  const worthwhile =
    session.worthwhile.unit === "%"
      ? (session.worthwhile.value / 100) * Math.abs(mean)
      : session.worthwhile.value;
  const given = answer(
    trial,
    {plan: session.plan, level: session.level, worthwhile, better: measure.better},
    other,
  );
  return {state: given.state, given, checks: [...given.checks, ...other]};
}

/** Counts over many days; shares of all days unless said otherwise. */
export interface DaysSummary {
  days: number;
  shown: number;
  no_worthwhile_difference: number;
  not_a_fair_test: number;
  too_few_runs: number;
  /** a check in doubt, on a day that is not called unfair */
  doubtful: number;
  /** of the days with an interval, whose interval holds the truth */
  covered: number;
  /** in the unit of the primary measure */
  median_width: number;
  /** days on which each check failed or was in doubt, by name */
  failed_checks: Record<string, number>;
  doubtful_checks: Record<string, number>;
}

/** Sums days up. */
export function summariseDays(days: readonly JudgedDay[]): DaysSummary {
  const share = (holds: (day: JudgedDay) => boolean) => days.filter(holds).length / days.length;
  const intervals = days.flatMap(({interval, truth}) => (interval ? {...interval, truth} : []));
  const held = intervals.filter(({low, high, truth}) => low <= truth && truth <= high).length;
  return {
    days: days.length,
    shown: share(day => day.state.startsWith("shown")),
    no_worthwhile_difference: share(day => day.state === "no-worthwhile-difference"),
    not_a_fair_test: share(day => day.state === "not-a-fair-test"),
    too_few_runs: share(day => day.state === "too-few-runs"),
    doubtful: share(day => day.doubtful.length > 0 && day.state !== "not-a-fair-test"),
    covered: held / intervals.length,
    median_width: median(intervals.map(({low, high}) => high - low)),
    failed_checks: tally(days.flatMap(day => day.failed)),
    doubtful_checks: tally(days.flatMap(day => day.doubtful)),
  };
}

function tally(names: readonly string[]): Record<string, number> {
  const counts: Record<string, number> = {};
  for (const name of names) counts[name] = (counts[name] ?? 0) + 1;
  return counts;
}
