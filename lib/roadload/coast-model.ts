import {requirePositive} from "./check.ts";
import type {RoadLoadCoefficients} from "./coefficients.ts";
import {STANDARD_GRAVITY_MPS2} from "./road-load.ts";

/** Longest step of the integration [s]: fourth order leaves below 1e-7 m/s on a car that coasts. */
const LONGEST_STEP_S = 0.5;

/** What a coasting car rolls through. */
export interface CoastSetting {
  /** mass on the wheels [kg], for the weight */
  massKg: number;
  /** with rotating parts [kg], for the inertia */
  effectiveMassKg: number;
  /** wind against the car [m/s], default 0 */
  headwindMps?: number;
  /** grade in the direction of travel after a distance from the start [m]; default level */
  gradeAt?: (distanceM: number) => number;
  gravityMps2?: number;
}

/**
 * Speed of a coasting car at given times, by integrating m_e dv/dt = −(F0 + F1 v + F2 u|u| + m g sin α), u = v + headwind.
 *
 * Classical Runge–Kutta method of order four with steps of at most 0.5 s, cubic between them (values and slopes of both ends).
 *
 * @param timesS    from the start [s], length n ≥ 1, not decreasing, first ≥ 0
 * @param startMps  speed at time 0 [m/s]
 * @returns speeds [m/s], length n; null where the car stops before the last time
 * @throws {RangeError} a mass or the start speed not above zero
 */
export function coastSpeeds(
  timesS: ArrayLike<number>,
  startMps: number,
  load: RoadLoadCoefficients,
  setting: CoastSetting,
): Float64Array | null {
  const {massKg, effectiveMassKg, headwindMps = 0, gradeAt, gravityMps2 = STANDARD_GRAVITY_MPS2} = setting;
  requirePositive("coastSpeeds", "massKg", massKg);
  requirePositive("coastSpeeds", "effectiveMassKg", effectiveMassKg);
  requirePositive("coastSpeeds", "startMps", startMps);
  const {f0N, f1NPerMps, f2NPerMps2} = load;
  const weightN = massKg * gravityMps2;
  const acceleration = (speed: number, distance: number): number => {
    const air = speed + headwindMps;
    let force = f0N + f1NPerMps * speed + f2NPerMps2 * air * Math.abs(air);
    if (gradeAt) {
      const grade = gradeAt(distance);
      force += (weightN * grade) / Math.sqrt(1 + grade * grade);
    }
    return -force / effectiveMassKg;
  };
  const n = timesS.length;
  const lastS = timesS[n - 1];
  const steps = Math.max(1, Math.ceil(lastS / LONGEST_STEP_S));
  const h = lastS / steps;
  const speeds = new Float64Array(n);
  let speed = startMps;
  let distance = 0;
  let slope = acceleration(speed, 0);
  let next = 0;
  for (let step = 0; step < steps; step++) {
    const v2 = speed + (h / 2) * slope;
    const a2 = acceleration(v2, distance + (h / 2) * speed);
    const v3 = speed + (h / 2) * a2;
    const a3 = acceleration(v3, distance + (h / 2) * v2);
    const v4 = speed + h * a3;
    const a4 = acceleration(v4, distance + h * v3);
    const then = speed + (h / 6) * (slope + 2 * a2 + 2 * a3 + a4);
    const distanceThen = distance + (h / 6) * (speed + 2 * v2 + 2 * v3 + v4);
    if (!(then > 0)) return null;
    const slopeThen = acceleration(then, distanceThen);
    const endS = step + 1 === steps ? Number.POSITIVE_INFINITY : (step + 1) * h;
    for (; next < n && timesS[next] <= endS; next++) {
      const x = h > 0 ? timesS[next] / h - step : 0;
      const c = 3 * (then - speed) - h * (2 * slope + slopeThen);
      const d = 2 * (speed - then) + h * (slope + slopeThen);
      speeds[next] = speed + x * (h * slope + x * (c + x * d));
    }
    speed = then;
    distance = distanceThen;
    slope = slopeThen;
  }
  return speeds;
}
