import type {RoadLoadCoefficients} from "../roadload/coefficients.ts";
import {STANDARD_GRAVITY_MPS2} from "../roadload/road-load.ts";
import type {Random} from "../stats/random.ts";
import {correlatedNoise} from "./noise.ts";

/** One coastdown to drive. */
export interface CoastInput {
  load: RoadLoadCoefficients;
  massKg: number;
  effectiveMassKg: number;
  fromMps: number;
  toMps: number;
  rateHz: number;
  /** in the direction of travel */
  gradeAt(distanceM: number): number;
  /** mean wind against the car [m/s] in this run; gusts are added: spread and correlation time */
  headwindMps: number;
  gustSdMps: number;
  gustCorrelationS: number;
}

/** A car that stands before this is below any band [s]. */
const LONGEST_S = 400;

/**
 * What truly happens in one coastdown, sample by sample: m_e dv/dt = −(F0 + F1 v + F2 u|u| + m g sin α), by the classical
 * Runge–Kutta method, gusts straight between samples. The first sample is at `fromMps`, the last the first one at or below `toMps`.
 *
 * @throws {RangeError} the car does not come down to `toMps`
 */
export function driveCoast(
  input: CoastInput,
  random: Random,
): {timeS: Float64Array; speedMps: Float64Array; distanceM: Float64Array} {
  const {load, massKg, effectiveMassKg, toMps, rateHz, gradeAt, headwindMps} = input;
  const gust = correlatedNoise(random, input.gustSdMps, input.gustCorrelationS, 1 / rateHz);
  const h = 1 / rateHz;
  const [speeds, distances] = [[input.fromMps], [0]];
  let [wind, speed, distance] = [headwindMps + gust(), input.fromMps, 0];
  const acceleration = (v: number, x: number, w: number): number => {
    const air = v + w;
    const grade = gradeAt(x);
    const slopeN = (massKg * STANDARD_GRAVITY_MPS2 * grade) / Math.sqrt(1 + grade * grade);
    return (
      -(load.f0N + load.f1NPerMps * v + load.f2NPerMps2 * air * Math.abs(air) + slopeN) / effectiveMassKg
    );
  };
  while (speed > toMps) {
    if (speeds.length > LONGEST_S * rateHz)
      throw new RangeError(
        `driveCoast: still at ${speed.toFixed(1)} m/s after ${LONGEST_S} s; end at a higher speed`,
      );
    const then = headwindMps + gust();
    const middle = (wind + then) / 2;
    const a1 = acceleration(speed, distance, wind);
    const v2 = speed + (h / 2) * a1;
    const a2 = acceleration(v2, distance + (h / 2) * speed, middle);
    const v3 = speed + (h / 2) * a2;
    const a3 = acceleration(v3, distance + (h / 2) * v2, middle);
    const v4 = speed + h * a3;
    const a4 = acceleration(v4, distance + h * v3, then);
    distance += (h / 6) * (speed + 2 * v2 + 2 * v3 + v4);
    speed += (h / 6) * (a1 + 2 * a2 + 2 * a3 + a4);
    wind = then;
    speeds.push(speed);
    distances.push(distance);
  }
  return {
    timeS: Float64Array.from(speeds, (_, i) => i / rateHz),
    speedMps: Float64Array.from(speeds),
    distanceM: Float64Array.from(distances),
  };
}
