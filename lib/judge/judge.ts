import type {CheckRecord, JudgeDocument, RunRecord} from "../result/documents.ts";
import {InputError} from "../result/error.ts";
import type {ArmName, Session, SessionRun} from "../result/session.ts";
import {VERSION} from "../result/version.ts";
import {type LoadedRun, loadDay, type TestDay} from "../run/day.ts";
import {createRandom} from "../stats/random.ts";
import {compare} from "../trial/compare.ts";
import type {TrialRun} from "../trial/model.ts";
import {settleWords} from "../trial/settle.ts";
import {verdict} from "../trial/verdict.ts";
import {fairnessChecks} from "./checks.ts";
import {correctionRecord} from "./correction-record.ts";
import {measureNamed} from "./measures.ts";
import {armRecord, excludedRecord, exploratoryRecord, fittingsRecord, lookRecord} from "./records.ts";
import {isBlind, sealChecks} from "./seal.ts";

const ARMS: readonly ArmName[] = ["baseline", "changed"];

/**
 * Answers the question of a session: loads its logs, checks the test, compares the arms, gives the verdict.
 * The same inputs give the same document to the last digit.
 *
 * @param session as read by `readSession`
 * @param day     the session's logs where they are loaded already
 * @throws {InputError} exit code 2: a log is missing; 1: a log cannot be read, or an arm has no usable run
 */
export function judge(session: Session, day: TestDay = loadDay(session)): JudgeDocument {
  const measure = measureNamed(session.primary);
  const runs = day.runs.map(run => ({run, measured: measure.value(run, day)}));
  const problemOf = (run: LoadedRun) => run.problem ?? measure.problem(run, day);
  const isUsed = ({run, measured}: (typeof runs)[number]) => run.run.exclude === null && measured !== null;
  for (const arm of ARMS)
    if (!runs.some(entry => entry.run.run.arm === arm && isUsed(entry)))
      refuseArm(
        session,
        arm,
        runs.map(entry => ({...entry.run.run, problem: problemOf(entry.run)})),
      );
  const baselineMean = meanOf(
    runs
      .filter(entry => entry.run.run.arm === "baseline" && isUsed(entry))
      .map(entry => entry.measured!.value),
  );
  const worthwhile =
    session.worthwhile.unit === "%"
      ? (session.worthwhile.value / 100) * Math.abs(baselineMean)
      : session.worthwhile.value;
  const trial = runs.map(
    (entry): TrialRun => ({
      run: entry.run.run.run,
      arm: entry.run.run.arm,
      value: isUsed(entry) ? entry.measured!.value : null,
      excludedValue: isUsed(entry) ? null : (entry.measured?.value ?? null),
      block: entry.run.run.block,
      direction: entry.run.run.direction,
      timeS: entry.run.clockS,
      refitted: entry.run.run.refitted,
    }),
  );
  const {plan, level, seed} = session;
  const better = isBlind(session) ? "neither" : measure.better; // of two letters none is the better one
  const comparison = compare(trial, {plan, level, seed, worthwhile, better});
  const used = runs.filter(isUsed).map(entry => entry.run);
  const checks: CheckRecord[] = [
    ...comparison.checks,
    ...fairnessChecks(day, used),
    ...sealChecks(session, day.inputs),
  ];
  const print = (value: number) => `${value.toFixed(measure.digits).replace("-", "−")} ${measure.unit}`;
  const random = createRandom(seed, "settle");
  const document: JudgeDocument = {
    format: "fairpull.judge/1",
    test: "comparison",
    question: session.question,
    primary: session.primary,
    unit: measure.unit,
    arms: {
      baseline: armRecord(session, comparison, "baseline"),
      changed: armRecord(session, comparison, "changed"),
    },
    effect: {
      estimate: comparison.estimate,
      unit: measure.unit,
      percent: comparison.estimate === null ? null : (100 * comparison.estimate) / Math.abs(baselineMean),
      interval: comparison.interval,
      model: comparison.model,
      df: comparison.interval && comparison.df,
      check: comparison.check,
      beside: comparison.beside,
    },
    look: lookRecord(comparison),
    permutation: comparison.permutation,
    equivalence: comparison.equivalence,
    worthwhile: {...session.worthwhile, in_primary_unit: worthwhile},
    verdict: verdict({
      tooFew: comparison.tooFew,
      estimate: comparison.estimate,
      interval: comparison.interval,
      equivalenceInterval: comparison.equivalenceInterval,
      worthwhile,
      better,
      checks,
      print,
      changed: session.arms.changed,
      measure: measure.words,
      settle: open => settleWords(open, {effect: comparison.effect, plan, level, worthwhile, random}, print),
      putBack: comparison.robustness?.put_back,
      look: comparison.effect.look,
    }),
    robustness: comparison.robustness,
    exploratory: exploratoryRecord(day, trial),
    fittings: fittingsRecord(comparison, {day, print}),
    runs: runs.map(
      (entry, i): RunRecord => ({
        run: entry.run.run.run,
        file: entry.run.run.file,
        arm: entry.run.run.arm,
        value: entry.measured?.value ?? null,
        value_u: entry.measured?.uncertainty ?? null,
        used: isUsed(entry),
        fitting: comparison.fittings[i],
        flags: entry.run.pass?.flags ?? [],
      }),
    ),
    checks,
    excluded: runs.flatMap(({run, measured}) =>
      measured === null || run.run.exclude !== null ? excludedRecord(run, problemOf(run)) : [],
    ),
    seed,
    versions: {fairpull: VERSION, node: process.versions.node},
    inputs: day.inputs,
  };
  return session.primary === "corrected-band-time" ? withCorrection(document, day) : document;
}

/** Raw and corrected side by side: the day is judged again by the time as it was. */
function withCorrection(document: JudgeDocument, day: TestDay): JudgeDocument {
  const raw = judge({...day.session, primary: "band-time"}, day);
  const answer = ({effect, verdict: {state}}: JudgeDocument) => ({
    estimate: effect.estimate,
    interval: effect.interval,
    state,
  });
  return {...document, correction: correctionRecord(day, {raw: answer(raw), corrected: answer(document)})};
}

function refuseArm(
  session: Session,
  arm: ArmName,
  runs: readonly (SessionRun & {problem: string | null})[],
): never {
  const reasons = runs
    .filter(run => run.arm === arm)
    .map(
      ({run, line, exclude, problem}) =>
        `run ${run} (line ${line}): ${exclude === null ? problem : `excluded: ${exclude}`}`,
    );
  throw new InputError(1, {
    code: "arm-without-run",
    file: session.file,
    words: `the ${arm} arm has no usable run; ${reasons.join("; ")}`,
    hint: "mend these runs or record more",
  });
}

function meanOf(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}
