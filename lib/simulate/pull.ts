import type {Band} from "../result/session.ts";
import {roadLoadN} from "../roadload/road-load.ts";
import {accelerationMassKg, powerBySpeed, type SimulatedVehicle} from "./vehicle.ts";

/** The driver lifts at the first sample this far above the band [m/s], so that its end is well inside the pull. */
const LIFT_ABOVE_MPS = 1;
/** The log goes on this long after the lift [s]. */
const AFTER_LIFT_S = 1.5;
/** A car that needs longer than this from the first sample does not get through the band [s]. */
const LONGEST_S = 120;
/**
 * Steps of the integration for one sample of the logger. At 10 Hz two leave some 1e-6 s in the band time of the demo's car,
 * most of it from the corners of its power curve (a test): a thousandth of what matters in a band time.
 */
const STEPS_PER_SAMPLE = 2;

/** One pull: steady speed, full throttle through the band, lift. */
export interface PullInput {
  vehicle: SimulatedVehicle;
  band: Band & {gear: number};
  /** mass of this run [kg], without rotating parts */
  massKg: number;
  dragAreaM2: number;
  airDensityKgM3: number;
  /** power over that of the vehicle's curve */
  powerFactor: number;
  /** steady speed until the throttle opens [m/s], below the band */
  rollInMps: number;
  /** the throttle opens this long after the first sample [s] */
  throttleS: number;
  rateHz: number;
  /** grade in the direction of travel after a distance from the first sample */
  gradeAt(distanceM: number): number;
  /** headwind at a sample, asked in order [m/s]; straight between samples */
  headwindAt(sample: number): number;
  /** default 2 */
  stepsPerSample?: number;
}

/** What truly happened, at the samples of the logger; n values each. */
export interface Pull {
  timeS: Float64Array;
  speedMps: Float64Array;
  /** from the first sample [m] */
  distanceM: Float64Array;
  /** from the first to the second speed of the band, without any error of a logger */
  bandTimeS: number;
  bandDistanceM: number;
  bandStartS: number;
}

/**
 * Drives one pull: m_eff dv/dt = P(v)·f·b(t)/v − road load, by the classical Runge–Kutta method of order four.
 * b is the throttle's build-up, 1 − (1 − b0) exp(−t/τ). While rolling in, speed is held exactly.
 *
 * @throws {RangeError} the roll-in is not below the band, or the car does not get through the band
 */
export function drivePull(input: PullInput): Pull {
  const {vehicle, band, rateHz, throttleS, rollInMps, powerFactor, stepsPerSample = STEPS_PER_SAMPLE} = input;
  if (!(rollInMps > 0 && rollInMps < band.fromMps)) {
    throw new RangeError(
      `drivePull: the roll-in must lie below the band's ${band.fromMps} m/s, found ${rollInMps} m/s`,
    );
  }
  const effectiveKg = accelerationMassKg(vehicle, band.gear, input.massKg);
  const powerW = powerBySpeed(vehicle, band.gear);
  const {throttleShare, throttleRiseS} = vehicle;
  const load = {
    massKg: input.massKg,
    rollingCoefficient: vehicle.rollingCoefficient,
    dragAreaM2: input.dragAreaM2,
    airDensityKgM3: input.airDensityKgM3,
    headwindMps: 0,
    grade: 0,
  };
  const most = Math.ceil(LONGEST_S * rateHz);
  const speedMps = new Float64Array(most);
  const distanceM = new Float64Array(most);
  const pull = {bandTimeS: 0, bandDistanceM: 0, bandStartS: 0};
  let lifted = false;
  // wind is straight from `windHere` at sample `sample` to `windNext` at the one after it
  let sample = 0;
  let windHere = input.headwindAt(0);
  let windNext = input.headwindAt(1);

  const accelerationMps2 = (time: number, speed: number, distance: number): number => {
    load.headwindMps = windHere + (windNext - windHere) * (time * rateHz - sample);
    load.grade = input.gradeAt(distance);
    const build = 1 - (1 - throttleShare) * Math.exp((throttleS - time) / throttleRiseS);
    const driveN = lifted ? -vehicle.liftDragN : (powerFactor * build * powerW(speed)) / speed;
    return (driveN - roadLoadN(speed, load)) / effectiveKg;
  };

  let speed = rollInMps;
  let distance = 0;
  let start: {timeS: number; distanceM: number} | null = null;
  let end = most;
  speedMps[0] = speed;
  for (let next = 1; next < end; next++) {
    const fromS = Math.max((next - 1) / rateHz, Math.min(throttleS, next / rateHz));
    distance += rollInMps * (fromS - (next - 1) / rateHz); // what of this sample's time is still roll-in
    const stepS = (next / rateHz - fromS) / stepsPerSample;
    for (let step = 0; step < stepsPerSample && stepS > 0; step++) {
      const time = fromS + step * stepS;
      const half = stepS / 2;
      const a1 = accelerationMps2(time, speed, distance);
      const v2 = speed + half * a1;
      const a2 = accelerationMps2(time + half, v2, distance + half * speed);
      const v3 = speed + half * a2;
      const a3 = accelerationMps2(time + half, v3, distance + half * v2);
      const v4 = speed + stepS * a3;
      const a4 = accelerationMps2(time + stepS, v4, distance + stepS * v3);
      const speedThen = speed + (stepS / 6) * (a1 + 2 * a2 + 2 * a3 + a4);
      const distanceThen = distance + (stepS / 6) * (speed + 2 * v2 + 2 * v3 + v4);
      for (const level of [band.fromMps, band.toMps]) {
        if (!(speed < level && speedThen >= level)) continue;
        const aThen = accelerationMps2(time + stepS, speedThen, distanceThen);
        const share = hermiteCrossing(speed, speedThen, stepS * a1, stepS * aThen, level);
        const timeS = time + share * stepS;
        const at = hermite(distance, distanceThen, stepS * speed, stepS * speedThen, share);
        if (level === band.fromMps) start = {timeS, distanceM: at};
        else if (start && pull.bandTimeS === 0) {
          pull.bandTimeS = timeS - start.timeS;
          pull.bandDistanceM = at - start.distanceM;
          pull.bandStartS = start.timeS;
        }
      }
      speed = speedThen;
      distance = distanceThen;
    }
    speedMps[next] = speed;
    distanceM[next] = distance;
    if (!lifted && speed >= band.toMps + LIFT_ABOVE_MPS) {
      lifted = true;
      end = Math.min(most, next + 1 + Math.round(AFTER_LIFT_S * rateHz));
    }
    sample = next;
    windHere = windNext;
    windNext = input.headwindAt(next + 1);
  }
  if (!lifted) {
    throw new RangeError(
      `drivePull: ${vehicle.name} does not get through the band in gear ${band.gear}: it is at ${speed.toFixed(1)} m/s ` +
        `after ${LONGEST_S} s; choose another gear, band or power`,
    );
  }
  return {
    timeS: Float64Array.from({length: end}, (_, i) => i / rateHz),
    speedMps: speedMps.slice(0, end),
    distanceM: distanceM.slice(0, end),
    ...pull,
  };
}

/** Cubic with values y0, y1 and slopes s0, s1 (per unit) at 0 and 1. */
function hermite(y0: number, y1: number, s0: number, s1: number, x: number): number {
  const c = 3 * (y1 - y0) - 2 * s0 - s1;
  const d = 2 * (y0 - y1) + s0 + s1;
  return y0 + x * (s0 + x * (c + x * d));
}

/** Where the cubic first meets a level between y0 < level ≤ y1, by bisection to rounding. */
function hermiteCrossing(y0: number, y1: number, s0: number, s1: number, level: number): number {
  let low = 0;
  let high = 1;
  for (let i = 0; i < 50; i++) {
    const middle = (low + high) / 2;
    if (hermite(y0, y1, s0, s1, middle) < level) low = middle;
    else high = middle;
  }
  return high;
}
