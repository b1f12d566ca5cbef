import {requireFinite, requirePositive} from "./check.ts";
import type {RoadLoadCoefficients} from "./coefficients.ts";

/** Air and tyres' surroundings of a road load. */
export interface LoadWeather {
  temperatureK: number;
  airDensityKgM3: number;
}

/** 20 °C and the density of dry air at 100 kPa there, as UN GTR 15 (WLTP), annex 4, has it (from memory). */
export const REFERENCE_WEATHER: LoadWeather = {temperatureK: 293.15, airDensityKgM3: 1.189};
/** Loss of rolling resistance for a kelvin, relative to 20 °C: 8.6e-3 (K₀ of UN GTR 15, from memory). */
export const ROLLING_PER_K = 8.6e-3;

/**
 * Road load brought to reference weather: F0 and F1 by (1 + k (T − T_ref)), F2 by the ratio of the densities.
 *
 * The rolling factor is a convention for warm tyres; real ones lose 0.5 to 1.5 % a kelvin. At 10 K from the reference that is
 * 5 % of F0 either way.
 *
 * @param measured  weather of the runs
 * @param reference default 20 °C, 1.189 kg/m³
 * @throws {RangeError} temperatures more than 40 K from the reference, density not above zero
 */
export function atReference(
  load: RoadLoadCoefficients,
  measured: LoadWeather,
  {
    reference = REFERENCE_WEATHER,
    rollingPerK = ROLLING_PER_K,
  }: {reference?: LoadWeather; rollingPerK?: number} = {},
): RoadLoadCoefficients {
  requirePositive("atReference", "airDensityKgM3", measured.airDensityKgM3);
  requirePositive("atReference", "airDensityKgM3", reference.airDensityKgM3);
  requireFinite("atReference", "rollingPerK", rollingPerK);
  const warmerK = measured.temperatureK - reference.temperatureK;
  if (!(Math.abs(warmerK) <= 40))
    throw new RangeError(
      `atReference: ${measured.temperatureK} K is more than 40 K from the reference; 20 °C is 293.15 K`,
    );
  const rolling = 1 + rollingPerK * warmerK;
  return {
    f0N: load.f0N * rolling,
    f1NPerMps: load.f1NPerMps * rolling,
    f2NPerMps2: (load.f2NPerMps2 * reference.airDensityKgM3) / measured.airDensityKgM3,
  };
}
