import {requireNotNegative, requirePositive} from "./check.ts";

/** A car and what turns with its wheels. */
export interface EffectiveMassInput {
  /** mass on the wheels [kg] */
  massKg: number;
  /**
   * moment of inertia of everything that turns with the wheels [kg m²], referred to the wheel: a part that turns i times
   * as fast counts i² times (engine and clutch in a low gear outweigh the wheels)
   */
  inertiaKgM2: number;
  /** distance rolled over angle turned [m]; some 3 % below half the tyre's diameter */
  rollingRadiusM: number;
}

/**
 * Mass that the drive force accelerates: m + I / r² [kg].
 *
 * @throws {RangeError} mass or radius not above zero, inertia negative, an input not finite
 */
export function effectiveMassKg({massKg, inertiaKgM2, rollingRadiusM}: EffectiveMassInput): number {
  requirePositive("effectiveMassKg", "massKg", massKg);
  requireNotNegative("effectiveMassKg", "inertiaKgM2", inertiaKgM2);
  requirePositive("effectiveMassKg", "rollingRadiusM", rollingRadiusM);
  return massKg + inertiaKgM2 / (rollingRadiusM * rollingRadiusM);
}
