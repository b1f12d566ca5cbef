import type {ChannelCurves} from "../channels/curves.ts";
import {differenceOfCurves} from "../channels/difference.ts";
import type {PowerCurves} from "../result/power-curves.ts";
import type {ArmName} from "../result/session.ts";
import {loadOf} from "../roadload/corrected-time.ts";
import type {CorrectedRun} from "../roadload/day-correction.ts";
import type {LoadedRun, TestDay} from "../run/day.ts";
import {studentTQuantile} from "../stats/distributions.ts";
import {median} from "../stats/quantile.ts";
import {standardDeviation} from "../stats/summary.ts";
import type {TrialRun} from "../trial/model.ts";
import {gearRatios, type RatioOfRun} from "./checks/gear-ratio.ts";
import {runViews} from "./checks/run-view.ts";
import {correctionOf} from "./correction.ts";

/** Cells of a curve: finer than the smoothing, so that it sets the resolution. */
const CELLS = 40;

/**
 * Wheel power of every run used along road or engine speed: v (m_e a + road load), a by the local parabolas of `smoothPull`, the load by
 * the joint road profile and the wind of the day. The run is the unit: bands count runs, never samples.
 *
 * Narrower than the smoothing nothing is seen; `resolution` says how wide that is and what noise and smoothing leave. Along engine speed
 * the axis is road speed times each run's own settled ratio, so that steps and lag of the logged engine speed do not bend the curve.
 * A run in which that ratio leaves the settled one (wheelspin, a shift, another gear) is left out of the curves with the reason.
 *
 * @returns null where fewer than two runs are left
 * @throws {InputError} as `correctionOf`
 */
export function powerCurves(
  day: TestDay,
  {axis = "speed"}: {axis?: PowerCurves["axis"]} = {},
): PowerCurves | null {
  const correction = correctionOf(day);
  const leftOut: PowerCurves["leftOut"] = [];
  const kept: {loaded: LoadedRun; corrected: CorrectedRun; ratio: number}[] = [];
  const usable = day.runs.filter(({run, pass}) => run.exclude === null && pass !== null);
  const {runs: ratios, others} = gearRatios(runViews(usable), "engine-speed");
  for (const [i, loaded] of day.runs.entries()) {
    const corrected = correction.runs[i];
    const {run, exclude} = loaded.run;
    const found = ratios.find(({view}) => view.run === run);
    const reason =
      exclude ??
      (corrected ? null : (correction.problems[i] ?? "it has no pass")) ??
      (axis === "engine-speed" && !found ? "no engine speed was logged" : null) ??
      (found ? slipWords(found, others.includes(found)) : null);
    if (corrected && reason === null) {
      const ratio = axis === "speed" ? 1 : found!.ratio;
      kept.push({loaded, corrected, ratio});
    } else leftOut.push({run, reason: reason!});
  }
  if (kept.length < 2) return null;
  const {fromMps, toMps} = correction.inputs;
  const from = Math.max(...kept.map(({ratio}) => ratio * fromMps));
  const to = Math.min(...kept.map(({ratio}) => ratio * toMps));
  if (!(to > from)) return null;
  const step = (to - from) / CELLS;
  const at = Float64Array.from({length: CELLS}, (_, k) => from + (k + 0.5) * step);
  const runs = kept.map(({loaded: {run}, corrected, ratio}) => ({
    run: run.run,
    arm: run.arm,
    powerW: powerAt(
      corrected,
      at.map(x => x / ratio),
    ),
  }));
  const curves: ChannelCurves = {
    channel: "wheel-power",
    unit: "W",
    axis,
    at,
    step,
    runs: runs.map(({run, powerW}) => ({run, values: powerW})),
    leftOut: [],
  };
  const {plan, level, seed} = day.session;
  const {band, tooFew, ranges, model} = differenceOfCurves(curves, trialRuns(day), {plan, level, seed});
  const of = (read: (run: (typeof kept)[number]) => number) => median(kept.map(read));
  const middle = (at[0] + at[CELLS - 1]) / 2;
  /** acceleration to power at the middle of the band */
  const gain = ({corrected: {conditions}, ratio}: (typeof kept)[number]) =>
    (conditions.massKg * conditions.rotatingFactor * middle) / ratio;
  return {
    axis,
    at,
    runs,
    arms: {baseline: armCurve(runs, "baseline"), changed: armCurve(runs, "changed")},
    difference: band && {
      estimateW: band.estimate,
      halfWidthW: band.standardError.map(error => band.factor * error),
      level: band.level,
      method: band.method,
      model,
      ranges: ranges.map(({from: low, to: high, mean}) => ({from: low, to: high, meanW: mean})),
    },
    tooFew,
    resolution: {
      halfWidthS: of(({corrected}) => corrected.pull.halfWidthS),
      span: of(({corrected: {pull, rawS}, ratio}) => (ratio * (toMps - fromMps) * pull.halfWidthS) / rawS),
      noiseW: of(run => gain(run) * run.corrected.pull.noiseMps2),
      biasW: of(run => gain(run) * run.corrected.pull.biasMps2),
    },
    leftOut,
  };
}

/** Wheel power at speeds, straight between the samples of the smoothed course. */
function powerAt({pull, conditions}: CorrectedRun, speedsMps: Float64Array): Float64Array {
  const {speedMps, accelerationMps2, placeM} = pull;
  const effectiveKg = conditions.massKg * conditions.rotatingFactor;
  const powerW = speedMps.map(
    (speed, i) => speed * (effectiveKg * accelerationMps2[i] + loadOf(speed, placeM[i], conditions)),
  );
  let i = 1;
  return speedsMps.map(speed => {
    while (i < speedMps.length - 1 && speedMps[i] < speed) i++;
    const share = (speed - speedMps[i - 1]) / (speedMps[i] - speedMps[i - 1]);
    return powerW[i - 1] + Math.min(1, Math.max(0, share)) * (powerW[i] - powerW[i - 1]);
  });
}

function armCurve(runs: PowerCurves["runs"], arm: ArmName): PowerCurves["arms"][ArmName] {
  const own = runs.filter(run => run.arm === arm);
  const n = own.length;
  const column = (k: number) => own.map(({powerW}) => powerW[k]);
  const cells = Array.from({length: CELLS}, (_, k) => k);
  const factor = n > 1 ? studentTQuantile(0.975, n - 1) / Math.sqrt(n) : null;
  return {
    runs: n,
    meanW: Float64Array.from(cells, k => column(k).reduce((sum, value) => sum + value, 0) / Math.max(1, n)),
    halfWidthW:
      factor === null ? null : Float64Array.from(cells, k => factor * standardDeviation(column(k))!),
  };
}

/** The runs as the plan's model sees them; each used one has a curve instead of a value. */
function trialRuns(day: TestDay): TrialRun[] {
  return day.runs.map(({run, pass, clockS}) => ({
    run: run.run,
    arm: run.arm,
    value: run.exclude === null && pass !== null ? 0 : null,
    excludedValue: null,
    block: run.block,
    direction: run.direction,
    timeS: clockS,
    refitted: run.refitted,
  }));
}

/** Why a run's acceleration does not tell the car's power throughout, or null. */
function slipWords({slipShare, departureShare}: RatioOfRun, isOther: boolean): string | null {
  const percent = (share: number) => `${(100 * Math.abs(share)).toFixed(1)} %`;
  if (isOther) return "it was driven in another gear";
  if (slipShare > 0) return `the wheels spun: engine speed ran ${percent(slipShare)} ahead of road speed`;
  if (departureShare !== 0)
    return `engine speed left road speed by ${percent(departureShare)} within the pass: a shift, a slipping clutch or wheelspin`;
  return null;
}
