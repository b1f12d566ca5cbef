import {carryOver} from "../channels/carry-over.ts";
import {type ChannelDay, loadChannelDay} from "../channels/channel-day.ts";
import {type ChannelCurves, channelCurves} from "../channels/curves.ts";
import {dayConditions} from "../channels/day-conditions.ts";
import {differenceOfCurves} from "../channels/difference.ts";
import type {Pairing} from "../channels/pair-runs.ts";
import {commonChannels, runMeans} from "../channels/run-means.ts";
import {sparkPower} from "../channels/spark-power.ts";
import {surveyChannels} from "../channels/survey.ts";
import type {ChannelDocument, CurvesRecord, PairingRecord} from "../result/channel-document.ts";
import type {ChannelSession} from "../result/channel-session.ts";
import {InputError} from "../result/error.ts";
import type {ArmName} from "../result/session.ts";
import {VERSION} from "../result/version.ts";
import type {LoadedRun} from "../run/day.ts";
import {withEngineChannels} from "../run/pair-logs.ts";
import {type Effect, estimateEffect} from "../trial/effect.ts";
import type {TrialRun} from "../trial/model.ts";
import {printDifference} from "../units/shown.ts";
import {type ChannelDraft, channelWords, conditionWords} from "./channel-words.ts";
import {fairnessChecks} from "./checks.ts";

/**
 * Answers a session of `test: channels`: whether the channel asked about differs between the arms, where along engine speed, what else
 * differs, and whether the conditions were the same. The run is the unit throughout. The same inputs give the same document.
 *
 * @param session as read by `readChannelSession`
 * @param loaded  the session's logs where they are loaded already
 * @throws {InputError} exit code 2: a log is missing; 1: a log cannot be read or is of another drive, the channel asked about is not
 *   there, an arm has no usable run
 */
export function judgeChannels(
  session: ChannelSession,
  loaded: ChannelDay = loadChannelDay(session),
): ChannelDocument {
  const {plan, level, seed} = session;
  const {primary, slope} = session.channels;
  const {day, runs} = loaded;
  requirePrimary(loaded);
  const means = runMeans(runs, primary);
  const isUsed = runs.map(
    ({run, problem, pass}, i) =>
      run.exclude === null && problem === null && pass !== null && means.values[i] !== null,
  );
  requireArms(loaded, isUsed);
  const trial = (values: readonly (number | null)[]) =>
    runs.map(({run, clockS}, i): TrialRun => {
      const {arm, block, direction, refitted} = run;
      const value = isUsed[i] ? values[i] : null;
      return {run: run.run, arm, value, excludedValue: null, block, direction, timeS: clockS, refitted};
    });
  const trials = trial(means.values);
  const effect = estimateEffect(trials, {plan, level});
  const bandTime = estimateEffect(trial(day.runs.map(({pass}) => pass?.elapsedS ?? null)), {plan, level});
  const used = runs.filter((_, i) => isUsed[i]);
  const curves = channelCurves(used, {channel: primary, axis: session.channels.axis});
  const found = surveyChannels(runs, trials, {plan, level, seed});
  const estimate = effect.fit?.estimate ?? null;
  const print = (value: number) => printDifference(value, means.unit, primary);
  const carried = carryOver(trials, {plan, level, effect: estimate, print});
  const conditions = dayConditions(runs, trials, {primary, plan, level});
  const isSpark = means.unit === "deg";
  const draft: ChannelDraft = {
    format: "fairpull.judge/1",
    test: "channels",
    question: session.question,
    primary,
    unit: means.unit,
    knock_sign: session.channels.knockSign,
    arms: {
      baseline: armRecord(session, trials, "baseline"),
      changed: armRecord(session, trials, "changed"),
    },
    effect: {
      estimate,
      interval: effect.interval,
      model: effect.model.words,
      too_few: effect.tooFew ?? (effect.noSpread ? "the runs of an arm agree to the last digit" : null),
    },
    band_time: {estimate: bandTime.fit?.estimate ?? null, unit: "s", interval: bandTime.interval},
    pairings: loaded.pairings.map(pairingRecord),
    curves: curves && curvesRecord(curves, trials, {session, runs}),
    curves_missing: curves
      ? null
      : `no two runs have ${primary} over ${session.channels.axis} on three common cells within the band`,
    survey: {
      channels: found.channels.map(
        ({name, unit, values, estimate, interval, spread, size, p, adjustedP, differs}) => ({
          channel: name,
          unit,
          values: values.flatMap((value, i) =>
            value === null ? [] : [{run: runs[i].run.run, arm: runs[i].run.arm, value}],
          ),
          estimate,
          interval,
          spread,
          size,
          p,
          adjusted_p: adjustedP,
          differs,
        }),
      ),
      method: found.method,
      looked: found.looked,
      level,
      left_out: [...found.leftOut, ...loaded.leftOut],
    },
    conditions: conditions.map(condition => ({
      name: condition.name,
      unit: condition.unit,
      difference: condition.difference,
      interval: condition.interval,
      slope: condition.slope,
      slope_interval: condition.slopeInterval,
      explains: condition.explains,
      explains_interval: condition.explainsInterval,
      matched: condition.matched,
      words: conditionWords(condition, print),
    })),
    carry_over: carried,
    power: isSpark ? powerRecord(effect, slope, level) : null,
    runs: runs.map(({run}, i) => ({
      run: run.run,
      file: run.file,
      engine: session.channels.engine[i],
      arm: run.arm,
      value: means.values[i],
      used: isUsed[i],
    })),
    checks: checksOf(loaded, isUsed),
    excluded: runs.flatMap(({run, problem}, i) =>
      isUsed[i]
        ? []
        : [
            {
              run: run.run,
              file: run.file,
              arm: run.arm,
              reason: run.exclude ?? problem ?? `no ${primary} within the band`,
            },
          ],
    ),
    seed,
    versions: {fairpull: VERSION, node: process.versions.node},
    inputs: day.inputs,
  };
  return {...draft, ...channelWords(draft)};
}

/** Checks of the day with the channels of both logs. */
function checksOf({day, runs}: ChannelDay, isUsed: readonly boolean[]): ChannelDocument["checks"] {
  const both = day.runs.map((run, i) =>
    run.log === runs[i].log || runs[i].pass === null
      ? run
      : {...run, log: withEngineChannels({satellite: run.log, engine: runs[i].log, alignment: ALIGNED})},
  );
  return fairnessChecks(
    {...day, runs: both},
    both.filter((_, i) => isUsed[i]),
  );
}

/** The engine's channels are on the time of the speed log already. */
const ALIGNED = {lagS: 0, lagUS: 0, scale: 1, correlation: 1, runnerUp: null, overlapS: 0};

function armRecord(
  session: ChannelSession,
  trials: readonly TrialRun[],
  arm: ArmName,
): ChannelDocument["arms"][ArmName] {
  const values = trials.flatMap(run => (run.arm === arm && run.value !== null ? [run.value] : []));
  const n = values.length;
  const mean = n > 0 ? values.reduce((sum, value) => sum + value, 0) / n : null;
  const sd = n > 1 ? Math.sqrt(values.reduce((sum, value) => sum + (value - mean!) ** 2, 0) / (n - 1)) : null;
  return {label: session.arms[arm], n, mean, sd};
}

function pairingRecord(pairing: Pairing): PairingRecord {
  const {runs, file, engine, correlation, lagS, lagUS, clockRate, clockRateU, scale, scaleU} = pairing;
  return {
    runs,
    file,
    engine,
    correlation,
    lag_s: lagS,
    lag_u_s: lagUS,
    clock_rate: clockRate,
    clock_rate_u: clockRateU,
    scale,
    scale_u: scaleU,
  };
}

function curvesRecord(
  curves: ChannelCurves,
  trials: readonly TrialRun[],
  {session, runs}: {session: ChannelSession; runs: readonly LoadedRun[]},
): CurvesRecord {
  const {plan, level, seed} = session;
  const {band, tooFew, ranges} = differenceOfCurves(curves, trials, {plan, level, seed});
  const armOf = new Map(runs.map(({run}) => [run.run, run.arm]));
  const edge = (sign: number) =>
    band ? Array.from(band.estimate, (value, k) => value + sign * band.factor * band.standardError[k]) : [];
  return {
    axis: curves.axis,
    axis_unit: curves.axis === "speed" ? "m/s" : "r/min",
    at: Array.from(curves.at),
    step: curves.step,
    runs: curves.runs.map(({run, values}) => ({run, arm: armOf.get(run)!, values: Array.from(values)})),
    difference: band && {
      estimate: Array.from(band.estimate),
      low: edge(-1),
      high: edge(1),
      adjusted_p: Array.from(band.adjustedP),
      level,
      method: band.method,
    },
    too_few: tooFew,
    ranges: ranges.map(({from, to, clear, mean, p}) => ({
      from,
      to,
      clear_from: clear.from,
      clear_to: clear.to,
      mean,
      p,
    })),
    left_out: curves.leftOut,
  };
}

function powerRecord(
  {fit, interval}: Effect,
  slope: ChannelSession["channels"]["slope"],
  level: number,
): ChannelDocument["power"] {
  if (!fit || !interval)
    return {estimate: null, interval: null, words: "the runs are too few to carry over to power"};
  if (slope === null) {
    return {
      estimate: null,
      interval: null,
      words:
        "What a degree of spark is worth in power cannot be told from these logs: it depends on how far the spark is from its best. A slope measured on this engine goes into the session (engine: {slope, slopeUncertainty}).",
    };
  }
  const {estimate, interval: power} = sparkPower(fit, slope, {level});
  const percent = (value: number) => `${value < 0 ? "−" : "+"}${Math.abs(100 * value).toFixed(1)} %`;
  return {
    estimate,
    interval: power,
    words: `By the slope that the session gives (${(100 * slope.perDegree).toFixed(2)} ± ${(100 * slope.perDegreeU).toFixed(2)} % of power for 1°, standard uncertainty) the difference in spark is worth ${percent(estimate)} of power${power ? ` (${percent(power.low)} to ${percent(power.high)})` : ""}. Whether that slope holds for this engine these logs cannot tell.`,
  };
}

/** The channel asked about has to be in some run, in one unit. */
function requirePrimary({session, runs, leftOut}: ChannelDay): void {
  const {primary, axis} = session.channels;
  const refuse = (code: string, words: string, hint: string): never => {
    throw new InputError(1, {code, file: session.file, words, hint});
  };
  const own = leftOut.find(({name}) => name === primary);
  if (own)
    refuse("channel-sign", `${primary} cannot be compared: ${own.reason}`, "write it into the session");
  const usable = runs.filter(({run, pass}) => run.exclude === null && pass !== null);
  const has = (name: string) =>
    usable.filter(({log}) => log.channels.some(channel => channel.name === name && channel.valid > 0));
  if (has(primary).length === 0) {
    const names = commonChannels(usable).names.slice(0, 20).join(", ");
    refuse("no-channel", `no run has the channel ${primary} within the band`, `the logs have ${names}`);
  }
  if (has(axis).length === 0) {
    refuse(
      "no-channel",
      `no run has ${axis === "speed" ? "a road speed" : "an engine speed"} to lay ${primary} over`,
      axis === "speed"
        ? "name its column: columns: {speed: …}"
        : 'name its column: columns: {engine-speed: "…"}, or write axis: speed',
    );
  }
  const found = commonChannels(has(primary)).leftOut.find(({name}) => name === primary);
  if (found) refuse("channel-unclear", `${primary}: ${found.reason}`, "mend it with columns in the session");
}

function requireArms({session, runs}: ChannelDay, isUsed: readonly boolean[]): void {
  for (const arm of ["baseline", "changed"] as const) {
    if (runs.some(({run}, i) => run.arm === arm && isUsed[i])) continue;
    const reasons = runs
      .filter(({run}) => run.arm === arm)
      .map(
        ({run, problem}) =>
          `run ${run.run} (line ${run.line}): ${run.exclude ?? problem ?? `no ${session.channels.primary} within the band`}`,
      );
    throw new InputError(1, {
      code: "arm-without-run",
      file: session.file,
      words: `the ${arm} arm has no usable run; ${reasons.join("; ")}`,
      hint: "a channel that one arm alone has cannot be compared; mend these runs or record more",
    });
  }
}
