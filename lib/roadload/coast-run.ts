import type {RoadLoadCoefficients} from "./coefficients.ts";

/** Terms of the force. */
export type CoastTerm = "F0" | "F1" | "F2";

/** One coastdown, cut to the span in which the car only rolled. */
export interface CoastRun {
  /** sample times [s], length n ≥ 10, increasing */
  timeS: Float64Array;
  /** speeds [m/s], length n */
  speedMps: Float64Array;
  direction: "out" | "back" | null;
  /** known grade in the direction of travel after a distance from the first sample [m]; default level */
  gradeAt?: (distanceM: number) => number;
  /** air density of this run over that of all; default 1 */
  densityRatio?: number;
}

/** What one run gives by itself. */
export interface RunFit {
  startMps: number;
  load: RoadLoadCoefficients;
  /** what is left between speed and fit (standard deviation) [m/s] */
  residualSdMps: number;
  /** since the first sample [s] */
  timeS: Float64Array;
  /** speed − fit [m/s] */
  residualsMps: Float64Array;
}

/** Coefficients from the parameters of a fit; drag follows the density of the run. */
export function setCoefficients(
  terms: readonly CoastTerm[],
  values: ArrayLike<number>,
  densityRatio = 1,
): RoadLoadCoefficients {
  const load = {f0N: 0, f1NPerMps: 0, f2NPerMps2: 0};
  terms.forEach((term, j) => {
    if (term === "F0") load.f0N = values[j];
    else if (term === "F1") load.f1NPerMps = values[j];
    else load.f2NPerMps2 = values[j] * densityRatio;
  });
  return load;
}

/** First guess: straight lines through the first and the last third give two accelerations, and these F0 and F2. */
export function firstGuess(
  {timeS, speedMps}: CoastRun,
  {effectiveMassKg}: {effectiveMassKg: number},
): Record<CoastTerm, number> & {startMps: number} {
  const n = timeS.length;
  const third = Math.max(2, Math.floor(n / 3));
  const early = line(timeS, speedMps, 0, third);
  const late = line(timeS, speedMps, n - third, n);
  const [fast, slow] = [early.meanMps, late.meanMps];
  const f2 = (effectiveMassKg * (late.slope - early.slope)) / (fast * fast - slow * slow || 1);
  const f2Guess = Number.isFinite(f2) && f2 > 0.05 && f2 < 3 ? f2 : 0.4;
  return {
    startMps: Math.max(1, early.meanMps + early.slope * (timeS[0] - early.meanS)),
    F0: -effectiveMassKg * late.slope - f2Guess * slow * slow,
    F1: 0,
    F2: f2Guess,
  };
}

/** At most so many samples, evenly taken, first and last kept. */
export function thinned(run: CoastRun, most: number): CoastRun {
  const n = run.timeS.length;
  if (n <= most) return run;
  const rows = Array.from({length: most}, (_, i) => Math.round((i * (n - 1)) / (most - 1)));
  return {
    ...run,
    timeS: Float64Array.from(rows, row => run.timeS[row]),
    speedMps: Float64Array.from(rows, row => run.speedMps[row]),
  };
}

function line(timeS: Float64Array, speedMps: Float64Array, from: number, end: number) {
  let [meanS, meanMps] = [0, 0];
  for (let i = from; i < end; i++) {
    meanS += timeS[i] / (end - from);
    meanMps += speedMps[i] / (end - from);
  }
  let [products, squares] = [0, 0];
  for (let i = from; i < end; i++) {
    products += (timeS[i] - meanS) * (speedMps[i] - meanMps);
    squares += (timeS[i] - meanS) ** 2;
  }
  return {meanS, meanMps, slope: products / squares};
}
