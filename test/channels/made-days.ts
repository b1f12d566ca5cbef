import type {ChannelCurves} from "../../lib/channels/curves.ts";
import {differenceOfCurves} from "../../lib/channels/difference.ts";
import {surveyChannels} from "../../lib/channels/survey.ts";
import type {Channel, Log} from "../../lib/result/log.ts";
import type {LoadedRun} from "../../lib/run/day.ts";
import type {Random} from "../../lib/stats/random.ts";
import {drawDeal} from "../../lib/trial/plan.ts";
import {toPlan, toRuns} from "../trial/made-runs.ts";

/** Cells of 100 r/min from 1500 to 5500. */
export const AT = Float64Array.from({length: 40}, (_, k) => 1550 + 100 * k);
/** Where a difference is planted [r/min]. */
export const [FROM, TO] = [2500, 4000];

/** Deviation of one run: spread 0.5°, correlated over 500 r/min. */
function deviation(random: Random): Float64Array {
  const keep = Math.exp(-100 / 500);
  let value = random.normal();
  return AT.map(() => {
    const now = 0.5 * value;
    value = keep * value + Math.sqrt(1 - keep * keep) * random.normal();
    return now;
  });
}

/** A day of curves in complete order with a difference between 2500 and 4000 r/min. */
export function curveDay(random: Random, {perArm, planted}: {perArm: number; planted: number}) {
  const labels = drawDeal("complete", 2 * perArm, random);
  const runs = toRuns(labels, new Float64Array(2 * perArm));
  const truth = AT.map(rpm => (rpm > FROM && rpm < TO ? planted : 0));
  const curves: ChannelCurves = {
    channel: "spark-advance",
    unit: "deg",
    axis: "engine-speed",
    at: AT,
    step: 100,
    leftOut: [],
    runs: Array.from(labels, (label, i) => ({
      run: i + 1,
      values: deviation(random).map((value, k) => value + label * truth[k]),
    })),
  };
  return {
    truth,
    ...differenceOfCurves(curves, runs, {plan: toPlan("complete", 2 * perArm), level: 0.95, seed: 1}),
  };
}

/** A run whose pass is the middle second of three, with these channels at these times. */
export function loadedRun(channels: Record<string, ArrayLike<number>>, timeS: readonly number[]): LoadedRun {
  const list = Object.entries(channels).map(
    ([name, values]): Channel => ({
      name,
      column: name,
      unit: null,
      valueUnit: "K",
      kind: "number",
      values: Float64Array.from(values),
      valid: Array.from(values).filter(Number.isFinite).length,
    }),
  );
  const log = {timeS: Float64Array.from(timeS), channels: list} as unknown as Log;
  const pass = {startS: 1, elapsedS: 1} as LoadedRun["pass"];
  return {
    run: {run: 1} as LoadedRun["run"],
    log,
    first: 0,
    end: timeS.length,
    pass,
    problem: null,
    clockS: null,
  };
}

/** The channel of `surveyDay` that is moved. */
export const MOVED = "channel 7";

/** 6 + 6 runs in complete order with 20 channels, one of them moved by so many run-to-run spreads. */
export function surveyDay(random: Random, moved: number) {
  const labels = drawDeal("complete", 12, random);
  const runs = toRuns(labels, new Float64Array(12).fill(1));
  const day = Array.from(labels, label =>
    loadedRun(
      Object.fromEntries(
        Array.from({length: 20}, (_, c) => {
          const value = 50 + random.normal() + (`channel ${c}` === MOVED ? moved * label : 0);
          return [`channel ${c}`, [value, value]];
        }),
      ),
      [1, 2],
    ),
  );
  return surveyChannels(day, runs, {plan: toPlan("complete"), level: 0.95, seed: 3});
}
