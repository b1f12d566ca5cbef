import {interpolateAt} from "../series/interpolate.ts";
import type {SpeedCourse} from "./pair-runs.ts";

/** Lag and scale by least squares, with their standard uncertainties. */
export interface RefinedPair {
  lagS: number;
  lagUS: number;
  scale: number;
  scaleU: number;
}

/** Half window over which the slope of the speed log is taken [s]: noise is no slope. */
const SLOPE_HALF_S = 0.3;
const MOST_STEPS = 20;
/** A step of the lag below this changes nothing that matters [s]. */
const DONE_S = 1e-6;
/** Fewer samples do not tell two numbers and their uncertainty. */
const LEAST_SAMPLES = 6;

/**
 * Lag and scale together by least squares through zero, at the moments at which the engine log's speed was really refreshed:
 * speed log(t − lag) = scale · engine log(t), by Gauss and Newton from a lag that is nearly right. The speed log is read between its
 * samples; the engine log is not, since one that is refreshed once in a second cuts the corners of a pull.
 *
 * Wrong by what the receiver's smoothing delays its speed: no log tells that from a lag. On simulated pulls of 12 s (`npm run calibrate`)
 * 95 in 100 lags are within 0.016 s and scales within 0.16 %, refreshed ten times or once in a second; the uncertainties are too small by
 * a third to a half, since a receiver that is off for seconds looks like another lag.
 *
 * @returns null where the samples in common are too few
 */
export function refinePair(satellite: SpeedCourse, engine: SpeedCourse, lagS: number): RefinedPair | null {
  let lag = lagS;
  for (let step = 0; step < MOST_STEPS; step++) {
    const rows = rowsAt(satellite, engine, lag);
    if (rows.length < LEAST_SAMPLES) return null;
    // a − scale·b + slope·Δ: the lag grows where the speed log read later would be faster
    const bb = sum(rows, row => row.b * row.b);
    const bs = sum(rows, row => row.b * row.slope);
    const ss = sum(rows, row => row.slope * row.slope);
    const determinant = bb * ss - bs * bs;
    if (!(determinant > 1e-9 * bb * ss)) return null;
    const ab = sum(rows, row => row.a * row.b);
    const as = sum(rows, row => row.a * row.slope);
    const scale = (ab * ss - as * bs) / determinant;
    const bySlope = (as * bb - ab * bs) / determinant;
    lag += bySlope;
    if (Math.abs(bySlope) > DONE_S && step + 1 < MOST_STEPS) continue;
    const variance = alikeVariance(rows.map(({a, b, slope}) => a - scale * b - bySlope * slope));
    return {
      lagS: lag,
      lagUS: Math.sqrt((variance * bb) / determinant),
      scale,
      scaleU: Math.sqrt((variance * ss) / determinant),
    };
  }
  return null;
}

function rowsAt({timeS, speedMps}: SpeedCourse, engine: SpeedCourse, lagS: number) {
  const at = (time: number) => interpolateAt(timeS, speedMps, time);
  return Array.from(engine.timeS).flatMap((time, i) => {
    const [a, before, after] = [
      at(time - lagS),
      at(time - lagS - SLOPE_HALF_S),
      at(time - lagS + SLOPE_HALF_S),
    ];
    if (a === null || before === null || after === null) return [];
    return [{a, b: engine.speedMps[i], slope: (after - before) / (2 * SLOPE_HALF_S)}];
  });
}

function sum<Row>(rows: readonly Row[], of: (row: Row) => number): number {
  return rows.reduce((total, row) => total + of(row), 0);
}

/**
 * Variance after two fitted numbers, made larger by 1 + 2·Σρ, ρ the correlation of residuals so many samples apart, added up to
 * where it first is negative: receivers are off by the same for seconds.
 */
function alikeVariance(residuals: readonly number[]): number {
  const square = sum(residuals, value => value * value);
  if (square === 0) return 0;
  let alike = 1;
  for (let apart = 1; apart < residuals.length / 3; apart++) {
    let product = 0;
    for (let i = apart; i < residuals.length; i++) product += residuals[i] * residuals[i - apart];
    if (product <= 0) break;
    alike += (2 * product) / square;
  }
  return (square / (residuals.length - 2)) * alike;
}
