import {InputError} from "../result/error.ts";
import type {RepeatabilityDocument} from "../result/repeatability-document.ts";
import type {Session} from "../result/session.ts";
import {VERSION} from "../result/version.ts";
import {loadDay, type TestDay} from "../run/day.ts";
import {type Reach, type Repeatability, reachOfPlans, repeatabilityOf} from "../trial/repeatability.ts";
import {fairnessChecks} from "./checks.ts";
import {measureNamed} from "./measures.ts";

const SILENT =
  "These runs say nothing of a part, nor of taking one off and on, which has a spread of its own. Another day, driver or road repeats in its own way.";

/**
 * Answers a session of `test: repeatability`: how much identical runs differ, whether they drift, and what a later test of
 * this car, road and logger could show.
 *
 * @param session as read by `readRepeatabilitySession`
 * @param day     the session's logs where they are loaded already
 * @throws {InputError} exit code 2: a log is missing; 1: a log cannot be read, or no run can be used
 */
export function judgeRepeatability(session: Session, day: TestDay = loadDay(session)): RepeatabilityDocument {
  const measure = measureNamed(session.primary);
  const runs = day.runs.map(run => ({run, measured: measure.value(run, day)}));
  const used = runs.filter(({run, measured}) => run.run.exclude === null && measured !== null);
  if (used.length === 0) {
    const reasons = day.runs.map(
      ({run, problem}) => `run ${run.run} (line ${run.line}): ${run.exclude ?? problem}`,
    );
    throw new InputError(1, {
      code: "no-run",
      file: session.file,
      words: `no run can be used; ${reasons.join("; ")}`,
      hint: "mend these runs or record more",
    });
  }
  const {level} = session;
  const found = repeatabilityOf(
    used.map(({run, measured}) => ({run: run.run.run, value: measured!.value, timeS: run.clockS})),
    {level},
  );
  const reach = reachOfPlans(found, {level});
  const {value, unit} = session.worthwhile;
  const worthwhile = unit === "%" ? (value / 100) * Math.abs(found.mean) : value;
  const print = (number: number) => `${number.toFixed(measure.digits).replace("-", "−")} ${measure.unit}`;
  const {sd, sdInterval, limit, drift, sdAboutDrift, lagOne} = found;
  return {
    format: "fairpull.judge/1",
    test: "repeatability",
    question: session.question,
    primary: session.primary,
    unit: measure.unit,
    car: session.arms.baseline,
    repeatability: {
      n: found.n,
      mean: found.mean,
      sd,
      sd_percent: sd === null ? null : (100 * sd) / Math.abs(found.mean),
      sd_interval: sdInterval,
      limit,
      drift: drift && {per_run: drift.perRun, interval: drift.interval},
      sd_about_drift: sdAboutDrift,
      lag_one: lagOne,
    },
    reach,
    worthwhile: {...session.worthwhile, in_primary_unit: worthwhile},
    words: inWords(found, {reach, worthwhile, print}),
    silent: SILENT,
    next:
      sd === null
        ? "Drive at least four runs alike."
        : "Plan the test with this spread: fairpull plan SESSION --from this session.",
    runs: runs.map(({run, measured}) => ({
      run: run.run.run,
      file: run.run.file,
      value: measured?.value ?? null,
      value_u: measured?.uncertainty ?? null,
      used: run.run.exclude === null && measured !== null,
      flags: run.pass?.flags ?? [],
    })),
    checks: fairnessChecks(
      day,
      used.map(({run}) => run),
      "by-run",
    ),
    excluded: runs.flatMap(({run, measured}) =>
      run.run.exclude === null && measured !== null
        ? []
        : [{run: run.run.run, file: run.run.file, reason: run.run.exclude ?? run.problem ?? "no value"}],
    ),
    seed: session.seed,
    versions: {fairpull: VERSION, node: process.versions.node},
    inputs: day.inputs,
  };
}

function inWords(
  {n, mean, sd, sdInterval, limit, drift}: Repeatability,
  {reach, worthwhile, print}: {reach: readonly Reach[]; worthwhile: number; print(value: number): string},
): string {
  if (sd === null || limit === null)
    return "One run says nothing of how much runs differ: drive at least four alike.";
  if (sd === 0) return "All runs agree to the last digit, which no road test does: look for a copied log.";
  const spread = `Over ${n} identical runs the spread of one run is ${print(sd)} (${((100 * sd) / Math.abs(mean)).toFixed(1)} %)`;
  const range = sdInterval
    ? `, and with so few runs it could be anything from ${print(sdInterval.low)} to ${print(sdInterval.high)}`
    : "";
  const moves =
    drift?.interval && (drift.interval.low > 0 || drift.interval.high < 0)
      ? ` They drift by ${print(drift.perRun)} a run, so the order of a test has to take that out.`
      : "";
  const plans = reach.filter(({smallest}) => smallest <= worthwhile);
  const [best] = plans.sort((a, b) => a.runs - b.runs || a.smallest - b.smallest);
  const words = best
    ? `A difference of ${print(worthwhile)} could be shown in four days of five with ${best.runs} runs (${best.order}).`
    : `A difference of ${print(worthwhile)} is too small for a test of up to 16 runs: make the runs more alike, or look for a larger one.`;
  return `${spread}${range}. Two identical runs differ by less than ${print(limit)} 95 times in 100: one run each way shows nothing smaller.${moves} ${words}`;
}
