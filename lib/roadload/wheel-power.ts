import {requireFinite, requirePositive} from "./check.ts";
import {type RoadLoadInput, roadLoadN} from "./road-load.ts";

/**
 * Power at the wheels that a speed and an acceleration need [W]: v (m_eff a + road load).
 *
 * What the tyres lose by slip at the contact patch is not in it (1–3 % at full throttle): it is the power that moves the car.
 *
 * @param speedMps         ground speed [m/s], ≥ 0
 * @param accelerationMps2 along the road [m/s²], negative when slowing
 * @param input            road load, and the effective mass [kg] with rotating parts
 * @returns power [W]; negative where the car is braked
 * @throws {RangeError} as `roadLoadN`; acceleration not finite, effective mass not above zero
 */
export function wheelPowerW(
  speedMps: number,
  accelerationMps2: number,
  input: RoadLoadInput & {effectiveMassKg: number},
): number {
  requireFinite("wheelPowerW", "accelerationMps2", accelerationMps2);
  requirePositive("wheelPowerW", "effectiveMassKg", input.effectiveMassKg);
  return speedMps * (input.effectiveMassKg * accelerationMps2 + roadLoadN(speedMps, input));
}
