import {STANDARD_GRAVITY_MPS2} from "../units/table.ts";
import {requireFinite, requireNotNegative} from "./check.ts";

export {STANDARD_GRAVITY_MPS2};

/** What resists a car on a road. */
export interface RoadLoadInput {
  /** mass on the wheels [kg], without the share of rotating parts */
  massKg: number;
  /** Crr, rolling resistance over wheel load */
  rollingCoefficient: number;
  /** CdA [m²] */
  dragAreaM2: number;
  airDensityKgM3: number;
  /** wind along the road, positive against the car [m/s]; default 0 */
  headwindMps?: number;
  /** rise over horizontal distance, positive uphill in the direction of travel; default 0 */
  grade?: number;
  /** default standard gravity */
  gravityMps2?: number;
}

/**
 * Force that air, tyres and slope hold against a car [N].
 *
 * F = ½ ρ CdA u |u| + m g (Crr cos α + sin α), u = speed + headwind, tan α = grade. The sign of the drag follows the air,
 * so a tailwind faster than the car pushes. Crr is taken as constant: real tyres gain some 10–20 % from 60 to 120 km/h.
 *
 * @param speedMps ground speed [m/s], ≥ 0; rolling resistance is counted at standstill too
 * @returns force [N], positive against the car, negative where slope or wind push harder than the rest holds
 * @throws {RangeError} an input is not finite, or mass, Crr, CdA, air density, gravity or speed is negative
 */
export function roadLoadN(speedMps: number, input: RoadLoadInput): number {
  const {massKg, rollingCoefficient, dragAreaM2, airDensityKgM3} = input;
  const {headwindMps = 0, grade = 0, gravityMps2 = STANDARD_GRAVITY_MPS2} = input;
  requireNotNegative("roadLoadN", "speedMps", speedMps);
  requireNotNegative("roadLoadN", "massKg", massKg);
  requireNotNegative("roadLoadN", "rollingCoefficient", rollingCoefficient);
  requireNotNegative("roadLoadN", "dragAreaM2", dragAreaM2);
  requireNotNegative("roadLoadN", "airDensityKgM3", airDensityKgM3);
  requireNotNegative("roadLoadN", "gravityMps2", gravityMps2);
  requireFinite("roadLoadN", "headwindMps", headwindMps);
  requireFinite("roadLoadN", "grade", grade);
  const airSpeedMps = speedMps + headwindMps;
  const dragN = 0.5 * airDensityKgM3 * dragAreaM2 * airSpeedMps * Math.abs(airSpeedMps);
  const weightAlongN = (massKg * gravityMps2) / Math.sqrt(1 + grade * grade); // m g cos α
  return dragN + weightAlongN * (rollingCoefficient + grade);
}
