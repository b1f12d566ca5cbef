import {InputError} from "../result/error.ts";
import type {Log} from "../result/log.ts";
import type {LoadedRun} from "../run/day.ts";
import {LEAST_CORRELATION} from "../run/pair-logs.ts";
import {usableChannel} from "../run/usable-channel.ts";
import {type Alignment, alignSeries} from "../series/align.ts";
import {refinePair} from "./refine-pair.ts";
import {refreshedRows} from "./refreshed.ts";

/** Speed over time without holes and repeats. */
export interface SpeedCourse {
  timeS: Float64Array;
  speedMps: Float64Array;
  /** clock time of `timeS` = 0 [s], or null */
  clockZeroS: number | null;
}

/** How the engine log of some runs lies to their speed log. */
export interface Pairing {
  /** runs that share both logs */
  runs: number[];
  file: string;
  engine: string;
  correlation: number;
  /** middle of the runs on the time of the speed log [s] */
  middleS: number;
  /** time of the engine log minus that of the speed log at the middle [s] */
  lagS: number;
  lagUS: number;
  /** how much faster the engine log's clock runs (1e-6 = a second in twelve days); null from fewer than three runs */
  clockRate: number | null;
  clockRateU: number | null;
  /** speed of the speed log over that of the engine log: tyres that are worn, or of another size */
  scale: number;
  scaleU: number;
}

/** Both speeds vary by at least this (standard deviation) [m/s]: a steady drive fits anywhere. */
const LEAST_SPREAD_MPS = 1.5;
/** Another place is as good an answer unless it leaves so many times the unexplained variance. */
const CLEARLY = 3;
/** Runs are aligned by themselves from so long before the pass to so long behind it [s]. */
const WINDOW_S = 3;
/** A run's own lag lies this near to that of the whole logs [s]. */
const NEAR_S = 5;
/** Nothing is read across a longer step [s]. */
const GAP_S = 5;
/** Shares of what the shorter log recorded that have to overlap, where more do not fit and to begin with. */
const HALF = 0.5;
const NEARLY_ALL = 0.9;
/** Share of the shorter log that overlaps at least, however long it rested. */
const LEAST_OVERLAP = 0.01;
/** Fewer runs tell no clock rate. */
const LEAST_RUNS = 3;
/** A lag that is further off the line of the others is a clock that was set [s]: ten times what a lag is good to. */
const CLOCK_STEP_S = 0.15;

/** Speed of a log where it was really refreshed: a held sample is no measurement and would shift the lag by its age. */
export function speedCourse(log: Log, names: readonly string[]): SpeedCourse | null {
  for (const name of names) {
    const channel = usableChannel(log, name);
    if (!channel) continue;
    const rows = refreshedRows(channel.values, 0, channel.values.length);
    if (rows.length < 3) continue;
    return {
      timeS: Float64Array.from(rows, row => log.timeS[row]),
      speedMps: Float64Array.from(rows, row => channel.values[row]),
      clockZeroS: log.clockZeroS,
    };
  }
  return null;
}

/**
 * Lag, clock rate and wheel-speed scale between a speed log and the engine log of the same runs, by correlating speed.
 *
 * Both logs as wholes tell where they lie; then each run by itself, and from three runs on a line through their lags gives the
 * rate of the clocks and their spread the uncertainties.
 *
 * @param runs of one speed log and one engine log, each with its pass
 * @throws {InputError} exit code 1: the drives do not match, several places match, a clock was set between runs
 */
export function pairRuns(
  runs: readonly LoadedRun[],
  {satellite, engine, engineFile}: {satellite: SpeedCourse; engine: SpeedCourse; engineFile: string},
): Pairing {
  const {file} = runs[0].run;
  const whole = alignWhole(satellite, engine, {file, engineFile, run: runs[0].run.run});
  const windows = runs.flatMap(({run, pass}) => {
    if (!pass) return [];
    const [fromS, toS] = [pass.startS - WINDOW_S, pass.startS + pass.elapsedS + WINDOW_S];
    const near = cut(engine, fromS + whole.lagS - NEAR_S, toS + whole.lagS + NEAR_S);
    const own = aligned(cut(satellite, fromS, toS), near);
    const refined = own && own.correlation >= LEAST_CORRELATION && refinePair(satellite, near, own.lagS);
    return refined ? [{run: run.run, atS: (fromS + toS) / 2, ...refined}] : [];
  });
  const base = {runs: runs.map(({run}) => run.run), file, engine: engineFile, correlation: whole.correlation};
  if (windows.length < LEAST_RUNS) {
    const {lagS, lagUS, scale, scaleU} = refinePair(satellite, engine, whole.lagS) ?? {...whole, scaleU: 0};
    return {...base, middleS: 0, lagS, lagUS, clockRate: null, clockRateU: null, scale, scaleU};
  }
  const lags = lineThrough(windows.map(({atS, lagS}) => [atS, lagS]));
  const worst = windows.find((_, i) => Math.abs(lags.residuals[i]) > CLOCK_STEP_S);
  if (worst) {
    throw new InputError(1, {
      code: "clock-set",
      file: engineFile,
      run: worst.run,
      words: `the clocks of ${file} and ${engineFile} do not run evenly: around run ${worst.run} they are ${Math.abs(lags.residuals[windows.indexOf(worst)]).toFixed(2)} s off the line through the other runs`,
      hint: "one clock was set during the day; cut the logs there and name each part as a file of its own",
    });
  }
  const scales = lineThrough(windows.map(({scale}, i) => [i, scale]));
  return {
    ...base,
    middleS: lags.meanX,
    lagS: lags.mean,
    lagUS: lags.meanU,
    clockRate: lags.slope,
    clockRateU: lags.slopeU,
    scale: scales.mean,
    scaleU: scales.meanU,
  };
}

/** Time of the speed log for a time of the engine log [s]. */
export function speedLogTime({middleS, lagS, clockRate}: Pairing): (engineS: number) => number {
  const rate = clockRate ?? 0;
  return engineS => middleS + (engineS - lagS - middleS) / (1 + rate);
}

function alignWhole(
  satellite: SpeedCourse,
  engine: SpeedCourse,
  {file, engineFile, run}: {file: string; engineFile: string; run: number},
): Alignment {
  const refuse = (code: string, words: string, hint: string) =>
    new InputError(1, {code, file: engineFile, run, words, hint});
  // runs that follow each other evenly fit each other one place further on too: nearly everything has to overlap first
  const most = aligned(satellite, engine, NEARLY_ALL);
  let found =
    most && most.correlation >= LEAST_CORRELATION && !isUnclear(most) ? most : aligned(satellite, engine);
  if (found && isUnclear(found) && satellite.clockZeroS !== null && engine.clockZeroS !== null) {
    const lagS = satellite.clockZeroS - engine.clockZeroS;
    const {timeS} = satellite;
    found =
      aligned(satellite, cut(engine, timeS[0] + lagS - 60, timeS[timeS.length - 1] + lagS + 60)) ?? found;
  }
  if (!found || found.correlation < LEAST_CORRELATION) {
    throw refuse(
      "drives-differ",
      `${engineFile} is not of the drive of ${file}: their speeds ${found ? `correlate by ${found.correlation.toFixed(3)} at best, and ${LEAST_CORRELATION} is needed` : "do not overlap, or hardly change"}`,
      "name the engine log of the same drive, and let both record the pull with its roll-in",
    );
  }
  if (isUnclear(found)) {
    throw refuse(
      "drives-unclear",
      `${file} fits several places of ${engineFile} equally well (correlation ${found.correlation.toFixed(4)} and ${found.runnerUp!.toFixed(4)})`,
      "pulls on one road are alike: give each run an engine log of its own, or let both loggers record the whole day",
    );
  }
  return found;
}

function isUnclear({correlation, runnerUp}: Alignment): boolean {
  return runnerUp !== null && CLEARLY * (1 - correlation) >= 1 - runnerUp;
}

function aligned(a: SpeedCourse, b: SpeedCourse, share = HALF): Alignment | null {
  if (a.timeS.length < 3 || b.timeS.length < 3) return null;
  const spanS = ({timeS}: SpeedCourse) => timeS[timeS.length - 1] - timeS[0];
  // loggers that rest between runs leave most of an afternoon empty: a share of what they recorded has to overlap
  const recordedS = Math.min(recorded(a), recorded(b));
  const minOverlap = Math.min(1, Math.max(LEAST_OVERLAP, (share * recordedS) / Math.min(spanS(a), spanS(b))));
  return alignSeries(a.timeS, a.speedMps, b.timeS, b.speedMps, {
    minSpread: LEAST_SPREAD_MPS,
    minOverlap,
    maxGapS: GAP_S,
  });
}

/** Time within which a course has samples [s]. */
function recorded({timeS}: SpeedCourse): number {
  let totalS = 0;
  for (let i = 1; i < timeS.length; i++)
    if (timeS[i] - timeS[i - 1] <= GAP_S) totalS += timeS[i] - timeS[i - 1];
  return totalS;
}

function cut({timeS, speedMps, clockZeroS}: SpeedCourse, fromS: number, toS: number): SpeedCourse {
  const isIn = (_: number, i: number) => timeS[i] >= fromS && timeS[i] <= toS;
  return {timeS: timeS.filter(isIn), speedMps: speedMps.filter(isIn), clockZeroS};
}

/** Straight line through points by least squares: its mean and slope with their standard uncertainties, and what it leaves. */
function lineThrough(points: readonly (readonly [number, number])[]) {
  const n = points.length;
  const meanX = points.reduce((sum, [x]) => sum + x, 0) / n;
  const mean = points.reduce((sum, [, y]) => sum + y, 0) / n;
  const square = points.reduce((sum, [x]) => sum + (x - meanX) ** 2, 0);
  const slope = square > 0 ? points.reduce((sum, [x, y]) => sum + (x - meanX) * (y - mean), 0) / square : 0;
  const residuals = points.map(([x, y]) => y - mean - slope * (x - meanX));
  const variance = residuals.reduce((sum, value) => sum + value * value, 0) / Math.max(1, n - 2);
  return {
    meanX,
    mean,
    slope,
    residuals,
    meanU: Math.sqrt(variance / n),
    slopeU: square > 0 ? Math.sqrt(variance / square) : 0,
  };
}
