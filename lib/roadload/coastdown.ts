import {type Interval, tInterval} from "../stats/interval.ts";
import {nonlinearLeastSquares} from "../stats/nonlinear-least-squares.ts";
import {coastSpeeds} from "./coast-model.ts";
import {
  type CoastRun,
  type CoastTerm,
  firstGuess,
  type RunFit,
  setCoefficients,
  thinned,
} from "./coast-run.ts";
import {levelForceN, type RoadLoadCoefficients} from "./coefficients.ts";
import {STANDARD_GRAVITY_MPS2} from "./road-load.ts";

/** What is known beside the runs. */
export interface CoastdownOptions {
  /** on the wheels [kg] */
  massKg: number;
  /** with rotating parts, as the car coasts [kg] */
  effectiveMassKg: number;
  /** 2 = F0 and F2; 3 = with a term linear in speed; default 2 */
  terms?: 2 | 3;
  /** wind against a car that drives out [m/s], stated; default: fitted where both directions are driven, else 0 */
  headwindOutMps?: number;
  gravityMps2?: number;
  level?: number;
  /** speeds at which the total force is told [m/s] */
  forceAtMps?: readonly number[];
}

/** A number with its interval, or without where too few runs tell. */
export interface CoastEstimate {
  estimate: number;
  standardError: number | null;
  interval: Interval | null;
}

/** Road load from coastdowns: on a level road, in still air, in the air and at the temperature of the runs. */
export interface CoastdownFit {
  terms: readonly CoastTerm[];
  load: RoadLoadCoefficients;
  f0N: CoastEstimate;
  /** null in a fit of two terms */
  f1NPerMps: CoastEstimate | null;
  f2NPerMps2: CoastEstimate;
  /** covariance of the terms' estimates by rows, from the spread of the runs; null where too few */
  covariance: Float64Array | null;
  /** correlation of the terms by rows, from the shape of the fit */
  correlation: Float64Array;
  /** runs − 2 with both directions, runs − 1 with one */
  df: number;
  /** common wind against a car that drives out [m/s] and common grade on the way out beside a known profile; null = cannot be told in one direction */
  headwindOut: {estimate: number; standardError: number | null; stated: boolean} | null;
  gradeOut: {estimate: number; standardError: number | null} | null;
  forces: {speedMps: number; forceN: CoastEstimate}[];
  /** fit of each run at the common wind and grade, in the order given */
  runs: RunFit[];
  warnings: string[];
}

/** Below this many degrees of freedom the spread cannot be checked, so no interval is given. */
const LEAST_DF = 3;
/** With F0 and F2 correlated more than this their split rests on noise: 110 → 80 km/h has 0.98 and more, 115 → 25 has 0.94. */
const MOST_CORRELATION = 0.97;

/**
 * Road-load terms from coastdown runs, by fitting the integrated equation of motion to v(t); nothing is differentiated.
 *
 * First all runs together give the common wind and grade (what turns round with the direction); then each run is fitted by
 * itself at these. The estimate is the mean of the means of both directions, its interval Student's t from the spread of the
 * single-run fits within the directions, with runs − 2 degrees of freedom: gusts and run-to-run wind are in that spread. What
 * the wind has in common with its direction cancels in the mean; its square, F2 w², is taken out.
 *
 * Mass is taken as known: an error of 1 % in it is 1 % of every force. F0 holds everything that does not grow with speed, a grade
 * common to both directions' runs cancels.
 *
 * @param runs two or more, each with 10 or more samples
 * @returns null where a run cannot be fitted; see `coastFaults` for the reason
 * @throws {RangeError} fewer than 2 runs, a run too short, masses not above zero
 */
export function fitCoastdown(runs: readonly CoastRun[], options: CoastdownOptions): CoastdownFit | null {
  if (runs.length < 2) throw new RangeError(`fitCoastdown: at least 2 runs are needed, found ${runs.length}`);
  for (const [i, run] of runs.entries())
    if (run.timeS.length < 10)
      throw new RangeError(
        `fitCoastdown: run ${i + 1} has ${run.timeS.length} samples, at least 10 are needed`,
      );
  const terms: CoastTerm[] = options.terms === 3 ? ["F0", "F1", "F2"] : ["F0", "F2"];
  const common = fitTogether(runs, terms, options);
  if (common === null) return null;
  const {headwindOut, gradeOut} = common;
  const fits: RunFit[] = [];
  for (const run of runs) {
    const fit = fitRun(run, terms, options, {
      headwindMps: signOf(run) * (headwindOut?.estimate ?? 0),
      grade: signOf(run) * (gradeOut?.estimate ?? 0),
    });
    if (fit === null) return null;
    fits.push(fit);
  }
  const groups = [...new Set(runs.map(run => run.direction))].map(direction =>
    fits.filter((_, i) => runs[i].direction === direction),
  );
  const df = runs.length - groups.length;
  const level = options.level;
  const overRuns = (of: (fit: RunFit) => number): CoastEstimate => {
    const {mean, variance} = meanOfGroups(groups, of, of, df);
    const standardError = variance === null ? null : Math.sqrt(variance);
    return {
      estimate: mean,
      standardError,
      interval:
        standardError !== null && standardError > 0 && df >= LEAST_DF
          ? tInterval(mean, standardError, {
              df,
              level,
              method: "t from the spread of single-run fits, by direction",
            })
          : null,
    };
  };
  const values: Record<CoastTerm, (fit: RunFit) => number> = {
    F0: fit => fit.load.f0N,
    F1: fit => fit.load.f1NPerMps,
    F2: fit => fit.load.f2NPerMps2,
  };
  const f0N = overRuns(values.F0);
  const f1NPerMps = terms.includes("F1") ? overRuns(values.F1) : null;
  const f2NPerMps2 = overRuns(values.F2);
  const covariance =
    df < 1
      ? null
      : Float64Array.from(
          terms.flatMap(a => terms.map(b => meanOfGroups(groups, values[a], values[b], df).variance!)),
        );
  const load = {f0N: f0N.estimate, f1NPerMps: f1NPerMps?.estimate ?? 0, f2NPerMps2: f2NPerMps2.estimate};
  return {
    terms,
    load,
    f0N,
    f1NPerMps,
    f2NPerMps2,
    covariance,
    correlation: common.correlation,
    df,
    headwindOut,
    gradeOut,
    forces: (options.forceAtMps ?? []).map(speedMps => ({
      speedMps,
      forceN: overRuns(fit => levelForceN(fit.load, speedMps)),
    })),
    runs: fits,
    warnings: warningsOf({load, df, groups: groups.length, correlation: common.correlation, terms}),
  };
}

/** +1 on the way out or where no direction is known, −1 on the way back. */
function signOf(run: CoastRun): 1 | -1 {
  return run.direction === "back" ? -1 : 1;
}

/** Mean of the groups' means and the (co)variance of it, from the spread within the groups. */
function meanOfGroups(
  groups: readonly RunFit[][],
  a: (fit: RunFit) => number,
  b: (fit: RunFit) => number,
  df: number,
): {mean: number; variance: number | null} {
  let [mean, products, inverse] = [0, 0, 0];
  for (const group of groups) {
    const [meanA, meanB] = [a, b].map(of => group.reduce((sum, fit) => sum + of(fit), 0) / group.length);
    for (const fit of group) products += (a(fit) - meanA) * (b(fit) - meanB);
    mean += meanA / groups.length;
    inverse += 1 / group.length;
  }
  const variance = df > 0 ? ((products / df) * inverse) / groups.length ** 2 : null;
  return {mean, variance};
}

/** Fit of one run at a given wind and grade. */
function fitRun(
  run: CoastRun,
  terms: readonly CoastTerm[],
  options: CoastdownOptions,
  {headwindMps, grade}: {headwindMps: number; grade: number},
): RunFit | null {
  const guess = firstGuess(run, options);
  const times = run.timeS.map(time => time - run.timeS[0]);
  const setting = settingOf(run, options, headwindMps, grade);
  const start = [guess.startMps, ...terms.map(term => guess[term])];
  const fit = nonlinearLeastSquares(
    b => {
      if (!(b[0] > 0)) return null;
      const speeds = coastSpeeds(
        times,
        b[0],
        setCoefficients(terms, b.subarray(1), run.densityRatio),
        setting,
      );
      return speeds?.map((speed, i) => run.speedMps[i] - speed) ?? null;
    },
    start,
    {scales: [0.1, ...terms.map(term => SCALES[term])], ...NEAR_START},
  );
  if (fit === null) return null;
  return {
    startMps: fit.parameters[0],
    load: setCoefficients(terms, fit.parameters.subarray(1), 1),
    residualSdMps: Math.sqrt(fit.residualSumOfSquares / Math.max(1, fit.df)),
    timeS: times,
    residualsMps: fit.residuals,
  };
}

/** Size of a change that matters: newtons, N/(m/s), N/(m/s)². */
const SCALES: Record<CoastTerm, number> = {F0: 5, F1: 0.3, F2: 0.01};
/** The guesses are good, and a step of a millionth of what matters is none. */
const NEAR_START = {firstDamping: 1e-3, smallStep: 1e-7};
/** The common fit only tells wind and grade; so many samples of each run are enough for it. */
const COMMON_SAMPLES = 160;

/** All runs together: wind and grade that turn with the direction, and how the terms hang together. */
function fitTogether(
  runs: readonly CoastRun[],
  terms: readonly CoastTerm[],
  options: CoastdownOptions,
): Pick<CoastdownFit, "headwindOut" | "gradeOut" | "correlation"> | null {
  const both = runs.some(run => signOf(run) === 1) && runs.some(run => signOf(run) === -1);
  const stated = options.headwindOutMps ?? null;
  const fitWind = both && stated === null;
  const extras = (fitWind ? 1 : 0) + (both ? 1 : 0);
  const short = runs.map(run => thinned(run, COMMON_SAMPLES));
  const guesses = short.map(run => firstGuess(run, options));
  const times = short.map(run => run.timeS.map(time => time - run.timeS[0]));
  const p = terms.length;
  const mean = (term: CoastTerm) => guesses.reduce((sum, guess) => sum + guess[term], 0) / guesses.length;
  const start = [
    ...terms.map(mean),
    ...Array<number>(extras).fill(0),
    ...guesses.map(guess => guess.startMps),
  ];
  const scales = [
    ...terms.map(term => SCALES[term]),
    ...(fitWind ? [0.3] : []),
    ...(both ? [1e-3] : []),
    ...runs.map(() => 0.1),
  ];
  const length = short.reduce((sum, run) => sum + run.timeS.length, 0);
  const ends: number[] = [];
  const fit = nonlinearLeastSquares(
    b => {
      const residuals = new Float64Array(length);
      let at = 0;
      ends.length = 0;
      for (const [r, run] of short.entries()) {
        const wind = fitWind ? b[p] : (stated ?? 0);
        const grade = both ? b[p + extras - 1] : 0;
        const startMps = b[p + extras + r];
        if (!(startMps > 0)) return null;
        const setting = settingOf(run, options, signOf(run) * wind, signOf(run) * grade);
        const speeds = coastSpeeds(times[r], startMps, setCoefficients(terms, b, run.densityRatio), setting);
        if (speeds === null) return null;
        for (let i = 0; i < speeds.length; i++) residuals[at++] = run.speedMps[i] - speeds[i];
        ends.push(at);
      }
      return residuals;
    },
    start,
    {scales, ...NEAR_START},
  );
  if (fit === null) return null;
  const q = fit.parameters.length;
  const spread = spreadByRun(fit.slopes, fit.residuals, ends, fit.unscaledCovariance);
  const freedom = runs.length - p - extras;
  const uncertainty = (j: number) =>
    freedom > 0 ? Math.sqrt((spread[j * q + j] * runs.length) / freedom) : null;
  const correlation = Float64Array.from({length: p * p}, (_, at) => {
    const [j, k] = [Math.floor(at / p), at % p];
    const size = fit.unscaledCovariance[j * q + j] * fit.unscaledCovariance[k * q + k];
    return fit.unscaledCovariance[j * q + k] / Math.sqrt(size);
  });
  return {
    headwindOut: fitWind
      ? {estimate: fit.parameters[p], standardError: uncertainty(p), stated: false}
      : stated === null
        ? null
        : {estimate: stated, standardError: null, stated: true},
    gradeOut: both
      ? {estimate: fit.parameters[p + extras - 1], standardError: uncertainty(p + extras - 1)}
      : null,
    correlation,
  };
}

/**
 * Covariance of a fit whose residuals hang together within runs and not between them: (JᵀJ)⁻¹ Σ sᵢ sᵢᵀ (JᵀJ)⁻¹ with sᵢ = Jᵢᵀ rᵢ
 * (K.-Y. Liang and S. L. Zeger, Biometrika 73 (1986) 13).
 */
function spreadByRun(
  slopes: readonly Float64Array[],
  residuals: Float64Array,
  ends: readonly number[],
  inverse: Float64Array,
): Float64Array {
  const q = slopes.length;
  const result = new Float64Array(q * q);
  let from = 0;
  for (const end of ends) {
    const score = slopes.map(slope => {
      let sum = 0;
      for (let i = from; i < end; i++) sum += slope[i] * residuals[i];
      return sum;
    });
    const influence = Array.from({length: q}, (_, j) =>
      score.reduce((sum, value, k) => sum + inverse[j * q + k] * value, 0),
    );
    for (let j = 0; j < q; j++) for (let k = 0; k < q; k++) result[j * q + k] += influence[j] * influence[k];
    from = end;
  }
  return result;
}

function settingOf(
  run: CoastRun,
  {massKg, effectiveMassKg, gravityMps2 = STANDARD_GRAVITY_MPS2}: CoastdownOptions,
  headwindMps: number,
  grade: number,
) {
  const {gradeAt} = run;
  return {
    massKg,
    effectiveMassKg,
    gravityMps2,
    headwindMps,
    gradeAt: gradeAt
      ? (distanceM: number) => gradeAt(distanceM) + grade
      : grade === 0
        ? undefined
        : () => grade,
  };
}

function warningsOf({
  load,
  df,
  groups,
  correlation,
  terms,
}: {
  load: RoadLoadCoefficients;
  df: number;
  groups: number;
  correlation: Float64Array;
  terms: readonly CoastTerm[];
}): string[] {
  const warnings: string[] = [];
  const p = terms.length;
  const f0f2 = correlation[p - 1];
  if (groups === 1)
    warnings.push(
      "only one direction was driven: grade and wind of the day are in the terms; drive the road both ways",
    );
  if (Math.abs(f0f2) > MOST_CORRELATION)
    warnings.push(
      `F0 and F2 cannot be told apart from this speed range (their correlation is ${f0f2.toFixed(3).replace("-", "−")}); only their sum near these speeds is known; coast from higher to lower speed`,
    );
  if (df < LEAST_DF)
    warnings.push(
      `${df} degrees of freedom are too few for an interval; drive at least 5 runs in both directions`,
    );
  if (load.f2NPerMps2 <= 0)
    warnings.push(
      `the fit gives a negative drag (F2 ${load.f2NPerMps2.toFixed(3).replace("-", "−")} N/(m/s)²), which no car has: the speed range is too small, the wind turned, or a run was not a coastdown; take such runs out or drive more`,
    );
  if (load.f0N <= 0)
    warnings.push(
      `the fit gives a negative rolling force (F0 ${load.f0N.toFixed(0).replace("-", "−")} N), which no car has: a slope or wind is in one direction only; drive the road both ways`,
    );
  return warnings;
}
