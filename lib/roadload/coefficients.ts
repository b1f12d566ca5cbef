import {requireFinite, requirePositive} from "./check.ts";
import {STANDARD_GRAVITY_MPS2} from "./road-load.ts";

/** Road load on a level road in still air as F0 + F1 v + F2 v². */
export interface RoadLoadCoefficients {
  f0N: number;
  /** [N/(m/s)]; may be negative */
  f1NPerMps: number;
  /** [N/(m/s)²] */
  f2NPerMps2: number;
}

/** The same as drag area and rolling coefficient. */
export interface DragAndRolling {
  /** CdA [m²] */
  dragAreaM2: number;
  /** Crr at standstill */
  rollingCoefficient: number;
  /** growth of Crr with speed [1/(m/s)] */
  rollingPerMps: number;
}

/** What both forms share. */
export interface LoadConditions {
  massKg: number;
  airDensityKgM3: number;
  /** default standard gravity */
  gravityMps2?: number;
}

/** Force on a level road in still air [N]. */
export function levelForceN({f0N, f1NPerMps, f2NPerMps2}: RoadLoadCoefficients, speedMps: number): number {
  return f0N + speedMps * (f1NPerMps + speedMps * f2NPerMps2);
}

/**
 * F0, F1, F2 from CdA and Crr: F0 = m g Crr, F1 = m g dCrr/dv, F2 = ½ ρ CdA. Exact; the physics is in the claim that the linear
 * term belongs to the tyres (bearings and gears have one, too).
 *
 * @throws {RangeError} an input not finite, mass or density not above zero
 */
export function toCoefficients(load: DragAndRolling, conditions: LoadConditions): RoadLoadCoefficients {
  const {weightN, halfDensity} = checked("toCoefficients", conditions);
  for (const [name, value] of Object.entries(load)) requireFinite("toCoefficients", name, value);
  return {
    f0N: weightN * load.rollingCoefficient,
    f1NPerMps: weightN * load.rollingPerMps,
    f2NPerMps2: halfDensity * load.dragAreaM2,
  };
}

/** CdA and Crr from F0, F1, F2; the inverse of `toCoefficients`. @throws {RangeError} as there */
export function toDragAndRolling(load: RoadLoadCoefficients, conditions: LoadConditions): DragAndRolling {
  const {weightN, halfDensity} = checked("toDragAndRolling", conditions);
  for (const [name, value] of Object.entries(load)) requireFinite("toDragAndRolling", name, value);
  return {
    dragAreaM2: load.f2NPerMps2 / halfDensity,
    rollingCoefficient: load.f0N / weightN,
    rollingPerMps: load.f1NPerMps / weightN,
  };
}

/** Both forms with their units, for people: "F0 159.9 N, F1 0.00 N/(m/s), F2 0.3840 N/(m/s)²; CdA 0.640 m², Crr 0.01150". */
export function loadWords(load: RoadLoadCoefficients, conditions: LoadConditions): string {
  const {dragAreaM2, rollingCoefficient} = toDragAndRolling(load, conditions);
  return (
    `F0 ${load.f0N.toFixed(1)} N, F1 ${load.f1NPerMps.toFixed(2)} N/(m/s), F2 ${load.f2NPerMps2.toFixed(4)} N/(m/s)²; ` +
    `CdA ${dragAreaM2.toFixed(3)} m², Crr ${rollingCoefficient.toFixed(5)}`
  ).replaceAll("-", "−");
}

function checked(
  caller: string,
  {massKg, airDensityKgM3, gravityMps2 = STANDARD_GRAVITY_MPS2}: LoadConditions,
) {
  requirePositive(caller, "massKg", massKg);
  requirePositive(caller, "airDensityKgM3", airDensityKgM3);
  requirePositive(caller, "gravityMps2", gravityMps2);
  return {weightN: massKg * gravityMps2, halfDensity: airDensityKgM3 / 2};
}
