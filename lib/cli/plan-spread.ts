import {judge} from "../judge/judge.ts";
import {judgeRepeatability} from "../judge/repeatability.ts";
import {InputError} from "../result/error.ts";
import type {PlanDocument} from "../result/plan-document.ts";
import type {Session} from "../result/session.ts";
import {testOfSession} from "../run/coastdown-session.ts";
import {readRepeatabilitySession} from "../run/repeatability-session.ts";
import {readSession} from "../run/session.ts";
import {estimateEffect} from "../trial/effect.ts";
import type {TrialRun} from "../trial/model.ts";
import {UnitError} from "../units/error.ts";
import {parseQuantity} from "../units/quantity.ts";
import {wrongOption} from "./options.ts";

/** Spread of band times from run to run where nothing is known of the car and its road; common practice, no source. */
const USUAL_PERCENT = 1.5;
/** Repeated pulls of one car never agree so well, and no plan helps where they scatter so much [%]. */
const LEAST_PERCENT = 0.05;
const MOST_PERCENT = 30;

/** Spread of single runs of one arm, and the value they scatter about where it is known. */
export interface PlanSpread {
  spread: NonNullable<PlanDocument["spread"]>;
  /** typical value of the measure, SI, or null */
  typical: number | null;
}

/**
 * The spread from run to run that a plan is made with: as given, of a past session (its residual spread about the model of its plan),
 * or the usual one.
 *
 * @throws {InputError} a spread that runs cannot have, a past session without one
 */
export function planSpread(
  session: Session,
  {spread, from, bandTime}: {spread?: string; from?: string; bandTime?: string},
  cwd: string,
): PlanSpread {
  if (spread !== undefined && from !== undefined) {
    throw wrongOption("--spread and --from both say what the spread is", "give one of them");
  }
  const typical = bandTime === undefined ? null : positiveTime("--band-time", bandTime);
  if (from !== undefined) return ofSession(session, from, cwd);
  if (spread === undefined) {
    return {
      spread: {
        value: USUAL_PERCENT,
        unit: "%",
        source: "common practice, no measurement; give --spread or --from",
      },
      typical,
    };
  }
  const share = /^\s*([-+0-9.eE]+)\s*%\s*$/.exec(spread);
  const found = share
    ? {value: Number(share[1]), unit: "%"}
    : {value: positiveTime("--spread", spread), unit: "s"};
  const percent = found.unit === "%" ? found.value : typical === null ? null : (100 * found.value) / typical;
  if (percent !== null && !(percent >= LEAST_PERCENT && percent <= MOST_PERCENT)) {
    throw wrongOption(
      `--spread is "${spread}"${found.unit === "%" ? "" : `, ${percent.toPrecision(2)} % of the band time`}, but single runs of one car scatter between ${LEAST_PERCENT} % and ${MOST_PERCENT} %`,
      "measure it by repeated runs with nothing changed, or leave it out for the usual 1.5 %",
    );
  }
  return {spread: {...found, source: "as given"}, typical};
}

function ofSession(session: Session, file: string, cwd: string): PlanSpread {
  if (testOfSession(file, {cwd}) === "repeatability") return ofIdenticalRuns(session, file, cwd);
  const past = readSession(file, {cwd});
  requireSamePrimary(session, past);
  const result = judge(past);
  const runs = result.runs.map(({run, arm, value, used}, i): TrialRun => {
    const {block, direction, refitted} = past.runs[i];
    return {run, arm, value: used ? value : null, block, direction, timeS: null, refitted};
  });
  const sd = estimateEffect(runs, {plan: past.plan, level: past.level}).fit?.residualSd ?? null;
  const typical = result.arms.baseline.mean;
  const runCount = runs.filter(run => run.value !== null).length;
  return measuredSpread(sd, {typical, file, source: `residual spread of ${runCount} runs in ${file}`});
}

/** Identical runs tell the spread best; where they drift, the spread about the drift, which an order by lot takes out. */
function ofIdenticalRuns(session: Session, file: string, cwd: string): PlanSpread {
  const past = readRepeatabilitySession(file, {cwd});
  requireSamePrimary(session, past);
  const found = judgeRepeatability(past).repeatability;
  const {n, mean, sd, sd_about_drift: sdAboutDrift, sd_interval: couldBe, drift} = found;
  const percent = (value: number) => ((100 * value) / Math.abs(mean)).toFixed(1);
  const interval = drift?.interval ?? null;
  const drifts = interval !== null && interval.low * interval.high > 0 && sdAboutDrift !== null;
  return measuredSpread(drifts ? sdAboutDrift : sd, {
    typical: mean,
    file,
    source: `spread${drifts ? " about their drift" : ""} of ${n} identical runs in ${file}${couldBe === null ? "" : `; it could be ${percent(couldBe.low)} to ${percent(couldBe.high)} %`}`,
  });
}

function requireSamePrimary({primary}: Session, past: Session): void {
  if (past.primary === primary) return;
  throw wrongOption(`--from names a session about ${past.primary}, and this one is about ${primary}`);
}

function measuredSpread(
  sd: number | null,
  {typical, file, source}: {typical: number | null; file: string; source: string},
): PlanSpread {
  if (sd === null || !(sd > 0) || typical === null) {
    throw new InputError(1, {
      code: "no-spread",
      words: "its runs are too few or too alike to show a spread",
      file,
      hint: "give --spread",
    });
  }
  return {spread: {value: (100 * sd) / Math.abs(typical), unit: "%", source}, typical};
}

function positiveTime(option: string, written: string): number {
  try {
    const {si} = parseQuantity(written, {dimension: "time", name: option});
    if (si > 0) return si;
  } catch (error) {
    if (!(error instanceof UnitError)) throw error;
    throw new InputError(2, {code: error.code, words: error.message, hint: error.hint});
  }
  throw wrongOption(`${option} is "${written}", but it must be above 0`);
}
