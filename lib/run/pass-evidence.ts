import type {LevelPass} from "../series/passes.ts";
import {median} from "../stats/quantile.ts";
import {parseUnit} from "../units/unit.ts";

/** What the samples of a pass and around it tell of the recording. */
export interface PassEvidence {
  timeS: Float64Array;
  speedMps: Float64Array;
  /** samples with a little before and behind the pass, cut at gaps: first index and end (exclusive) */
  first: number;
  end: number;
  pass: LevelPass;
  /** median step of the samples in the pass [s] */
  stepS: number;
  /** step of the numbers in which speed is written [m/s], 0 where none was found */
  speedStepMps: number;
  /** standard uncertainty of one speed that is known beforehand [m/s], 0 where none is */
  speedUMps: number;
  /** open within a time stamp [s]: stamps shared by rows, or rounded to their own size; 0 where neither */
  stampS: number;
  /** places where the value changes, out of first … end, the first one included */
  changes: number[];
  /** time between changes where values are held over several rows [s], else 0 */
  holdS: number;
}

/** Looked at before and behind a pass [s]: long enough to see what led to it, short beside a pull. */
const MARGIN_S = 2;
/** Values held over at least so many rows, on average, are held by the logger (or the display). */
const HELD_ROWS = 2;
/** Held values that then move by no more than so many steps of their number format are merely coarse. */
const COARSE_STEPS = 1.5;
/** Samples from which the number format is told. */
const FORMAT_SAMPLES = 2000;
/** Steps of time stamps, largest first [s]. */
const STAMP_STEPS_S = [1, 0.5, 0.1, 0.05, 0.01];
/** Stamps count as rounded when steps differ by at least so much of the stamp's own step … */
const STAMP_JITTER = 0.5;
/** … and when the median step is not much larger than it. */
const STAMP_SHARE = 4;

/** Steps of number formats, in the units that loggers write, largest first [m/s]. */
const SPEED_STEPS_MPS = ["m/s", "km/h", "mph", "kn"]
  .flatMap(symbol => {
    const {factor, divisor} = parseUnit(symbol);
    return [1, 0.5, 0.25, 0.2, 0.1, 0.05, 0.01, 0.001].map(step => (step * factor) / divisor);
  })
  .sort((a, b) => b - a);

/** Gathers the evidence on one pass; the trace is the whole one, without NaN. */
export function passEvidence(
  timeS: Float64Array,
  speedMps: Float64Array,
  pass: LevelPass,
  {maxGapS, stampS, speedUMps}: {maxGapS: number; stampS: number; speedUMps: number},
): PassEvidence {
  const {first, end} = surroundings(timeS, pass, maxGapS);
  const changes = [first];
  for (let i = first + 1; i < end; i++) if (speedMps[i] !== speedMps[i - 1]) changes.push(i);
  const speedStepMps = speedStep(speedMps, pass);
  return {
    timeS,
    speedMps,
    first,
    end,
    pass,
    stepS: median(stepsBetween(timeS, pass.startIndex - 1, pass.endIndex)),
    speedStepMps,
    speedUMps,
    stampS: Math.max(stampS, roundedStamps(timeS, first, end)),
    changes,
    holdS: holdTime(timeS, speedMps, pass, speedStepMps),
  };
}

function surroundings(timeS: Float64Array, pass: LevelPass, maxGapS: number): {first: number; end: number} {
  let first = pass.startIndex - 1;
  while (
    first > 0 &&
    timeS[first] - timeS[first - 1] <= maxGapS &&
    timeS[first - 1] >= pass.startS - MARGIN_S
  )
    first--;
  let end = pass.endIndex + 1;
  while (end < timeS.length && timeS[end] - timeS[end - 1] <= maxGapS && timeS[end] <= pass.endS + MARGIN_S)
    end++;
  return {first, end};
}

/** Steps between the samples from … to (inclusive). */
export function stepsBetween(timeS: Float64Array, from: number, to: number): Float64Array {
  return Float64Array.from({length: to - from}, (_, k) => timeS[from + k + 1] - timeS[from + k]);
}

/** The largest number format that all samples around the pass fit, or 0. */
function speedStep(speedMps: Float64Array, pass: LevelPass): number {
  const middle = (pass.startIndex + pass.endIndex) >> 1;
  const from = Math.max(0, middle - FORMAT_SAMPLES / 2);
  const to = Math.min(speedMps.length, from + FORMAT_SAMPLES);
  const fits = (step: number): boolean => {
    for (let i = from; i < to; i++) {
      const count = speedMps[i] / step;
      if (Math.abs(count - Math.round(count)) > 1e-6) return false;
    }
    return true;
  };
  return SPEED_STEPS_MPS.find(fits) ?? 0;
}

/** Step of time stamps that were rounded while the samples came at other times, or 0. */
function roundedStamps(timeS: Float64Array, first: number, end: number): number {
  const steps = stepsBetween(timeS, first, end - 1).sort();
  const spread = steps[Math.floor(0.9 * (steps.length - 1))] - steps[Math.ceil(0.1 * (steps.length - 1))];
  const middle = steps[steps.length >> 1];
  const stamp = STAMP_STEPS_S.find(step => {
    for (let i = first; i < end; i++) {
      const count = timeS[i] / step;
      if (Math.abs(count - Math.round(count)) > 1e-6 * Math.max(1, Math.abs(count))) return false;
    }
    return true;
  });
  if (stamp === undefined) return 0;
  return spread >= STAMP_JITTER * stamp && middle <= STAMP_SHARE * stamp ? stamp : 0;
}

/** Time for which values are held over several rows, or 0 where each row has its own or the format alone repeats them. */
function holdTime(
  timeS: Float64Array,
  speedMps: Float64Array,
  pass: LevelPass,
  speedStepMps: number,
): number {
  const changes: number[] = [];
  for (let i = pass.startIndex; i <= pass.endIndex; i++) if (speedMps[i] !== speedMps[i - 1]) changes.push(i);
  const rows = pass.endIndex - pass.startIndex + 1;
  if (changes.length < 2 || rows < HELD_ROWS * changes.length) return 0;
  const jumps = changes.map(i => Math.abs(speedMps[i] - speedMps[i - 1]));
  if (median(jumps) <= COARSE_STEPS * speedStepMps) return 0;
  return median(changes.slice(1).map((i, k) => timeS[i] - timeS[changes[k]]));
}
