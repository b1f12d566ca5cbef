import type {AirState} from "./air-density.ts";
import {requirePositive} from "./check.ts";

/** CIPM-2007: molar gas constant of CODATA 2006, molar masses [kg/mol]; air with 0.04 % carbon dioxide. */
const GAS_J_MOL_K = 8.314472;
const DRY_AIR_KG_MOL = 28.96546e-3;
const WATER_KG_MOL = 18.01528e-3;
const CARBON_KG_MOL = 12.011e-3;
const CARBON_DIOXIDE = 0.0004;
/** Saturation pressure over water, equation (A1.1). */
const [A, B, C, D] = [1.2378847e-5, -1.9121316e-2, 33.93711047, -6.3431645e3];
/** Enhancement factor, equation (A1.2). */
const [ALPHA, BETA, GAMMA] = [1.00062, 3.14e-8, 5.6e-7];
/** Compressibility, equation (A1.4). */
const [A0, A1, A2, B0, B1, C0, C1] = [
  1.58123e-6, -2.9331e-8, 1.1043e-10, 5.707e-6, -2.051e-8, 1.9898e-4, -2.376e-6,
];
const [D0, E0] = [1.83e-11, -0.765e-8];
/** The car is somewhere between these [K], [Pa]; the equation was made for 288–300 K and 60–110 kPa. */
const TEMPERATURE_K = [223.15, 333.15];
const PRESSURE_PA = [30_000, 120_000];

/** What the equation passes through on its way. */
export interface MoistAir {
  densityKgM3: number;
  saturationPressurePa: number;
  enhancementFactor: number;
  /** mole fraction of water vapour */
  vapourFraction: number;
  compressibility: number;
}

/**
 * Density of moist air, CIPM-2007: A. Picard, R. S. Davis, M. Gläser and K. Fujii, Metrologia 45 (2008) 149.
 *
 * The equation itself is good to 22 parts in a million between 15 and 27 °C and 600 and 1100 hPa; outside it is used as it
 * stands (one published point at 40 °C lies 6e-5 off). On a road the inputs decide: 1 K is 0.34 %, 1 hPa 0.1 %, a tenth of
 * humidity at 20 °C 0.09 %.
 *
 * @param air       humidity 0 … 1 over water; from a dew point see `humidityFromDewPoint`
 * @param options   mole fraction of carbon dioxide, default 0.0004
 * @throws {RangeError} temperature outside 223–333 K, pressure outside 30–120 kPa, humidity outside 0 … 1: each names the unit that it may have been in
 */
export function moistAirPicard2008(
  {temperatureK, pressurePa, humidity}: AirState,
  {carbonDioxide = CARBON_DIOXIDE}: {carbonDioxide?: number} = {},
): MoistAir {
  requireWithin("temperatureK", temperatureK, TEMPERATURE_K, "K; 20 °C is 293.15 K");
  requireWithin("pressurePa", pressurePa, PRESSURE_PA, "Pa; 1013 hPa is 101300 Pa");
  requireWithin("humidity", humidity, [0, 1], "; 55 % is written 0.55");
  const t = temperatureK - 273.15;
  const saturationPressurePa = Math.exp(
    A * temperatureK * temperatureK + B * temperatureK + C + D / temperatureK,
  );
  const enhancementFactor = ALPHA + BETA * pressurePa + GAMMA * t * t;
  const x = (humidity * enhancementFactor * saturationPressurePa) / pressurePa;
  const perK = pressurePa / temperatureK;
  const compressibility =
    1 -
    perK * (A0 + A1 * t + A2 * t * t + (B0 + B1 * t) * x + (C0 + C1 * t) * x * x) +
    perK * perK * (D0 + E0 * x * x);
  const dryKgMol = DRY_AIR_KG_MOL + CARBON_KG_MOL * (carbonDioxide - CARBON_DIOXIDE);
  const densityKgM3 =
    ((pressurePa * dryKgMol) / (compressibility * GAS_J_MOL_K * temperatureK)) *
    (1 - x * (1 - WATER_KG_MOL / dryKgMol));
  return {densityKgM3, saturationPressurePa, enhancementFactor, vapourFraction: x, compressibility};
}

/** Density of moist air [kg/m³]; see `moistAirPicard2008`. @throws {RangeError} as there */
export function airDensityPicard2008(air: AirState): number {
  return moistAirPicard2008(air).densityKgM3;
}

/**
 * Density of air that other air has at another temperature or pressure, as an ideal gas: ρ · (p/p₀) · (T₀/T).
 *
 * @throws {RangeError} an input not above zero
 */
export function scaledAirDensity(
  densityKgM3: number,
  from: {temperatureK: number; pressurePa: number},
  to: {temperatureK: number; pressurePa: number},
): number {
  requirePositive("scaledAirDensity", "densityKgM3", densityKgM3);
  for (const state of [from, to]) {
    requirePositive("scaledAirDensity", "temperatureK", state.temperatureK);
    requirePositive("scaledAirDensity", "pressurePa", state.pressurePa);
  }
  return (densityKgM3 * to.pressurePa * from.temperatureK) / (from.pressurePa * to.temperatureK);
}

function requireWithin(name: string, value: number, [low, high]: number[], unit: string): void {
  if (value >= low && value <= high) return;
  throw new RangeError(
    `moistAirPicard2008: ${name} must be ${low} to ${high}, found ${value} ${unit}`.replace(" ;", ";"),
  );
}
