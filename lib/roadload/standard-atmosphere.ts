import {requireFinite, requirePositive} from "./check.ts";
import {STANDARD_GRAVITY_MPS2} from "./road-load.ts";

/** U.S. Standard Atmosphere, 1976 (the same as ISO 2533:1975 up to 11 km): sea level, lapse and gas constant over molar mass. */
const SEA_LEVEL_K = 288.15;
const SEA_LEVEL_PA = 101_325;
const LAPSE_K_PER_M = -0.0065;
const GAS_J_KG_K = 8314.32 / 28.9644;
const TROPOPAUSE_M = 11_000;
const HIGHEST_M = 20_000;
/** Radius that turns geometric into geopotential height [m]. */
const EARTH_RADIUS_M = 6_356_766;
/**
 * How far a day in middle latitudes is off the standard (k = 1): 10 K and 10 hPa, chosen from the range of the seasons (from
 * memory); together 3.6 % of density.
 */
const DAY_K = 10;
const DAY_PA = 1000;

/** Air at a height when nothing was measured. */
export interface StandardAir {
  temperatureK: number;
  pressurePa: number;
  densityKgM3: number;
  /** standard uncertainty of the density [kg/m³] as a stand-in for the air of some day */
  densityUKgM3: number;
}

/**
 * Standard atmosphere at a geopotential height, −5 to 20 km.
 *
 * As the air of an actual day it is a guess; the uncertainty says how good.
 *
 * @param heightM geopotential height [m]; up to 1 km the geometric height differs by less than 0.2 m
 * @throws {RangeError} a height outside −5000 … 20000 m
 */
export function standardAtmosphere1976(heightM: number): StandardAir {
  if (!(heightM >= -5000 && heightM <= HIGHEST_M))
    throw new RangeError(
      `standardAtmosphere1976: height must be -5000 to ${HIGHEST_M} m, found ${heightM} m`,
    );
  const inTroposphereM = Math.min(heightM, TROPOPAUSE_M);
  const temperatureK = SEA_LEVEL_K + LAPSE_K_PER_M * inTroposphereM;
  const exponent = -STANDARD_GRAVITY_MPS2 / (GAS_J_KG_K * LAPSE_K_PER_M);
  const pressurePa =
    SEA_LEVEL_PA *
    (temperatureK / SEA_LEVEL_K) ** exponent *
    Math.exp((-STANDARD_GRAVITY_MPS2 * (heightM - inTroposphereM)) / (GAS_J_KG_K * temperatureK));
  const densityKgM3 = pressurePa / (GAS_J_KG_K * temperatureK);
  const densityUKgM3 = densityKgM3 * Math.hypot(DAY_K / temperatureK, DAY_PA / pressurePa);
  return {temperatureK, pressurePa, densityKgM3, densityUKgM3};
}

/** Geopotential height [m] of a geometric one: r Z/(r + Z). @throws {RangeError} height not finite */
export function geopotentialHeightM(geometricHeightM: number): number {
  requireFinite("geopotentialHeightM", "geometricHeightM", geometricHeightM);
  return (EARTH_RADIUS_M * geometricHeightM) / (EARTH_RADIUS_M + geometricHeightM);
}

/**
 * Pressure at a height from the one that weather reports print, reduced to sea level.
 *
 * The column between is taken as standard from the station down: its mean temperature is that of the station plus half the lapse.
 * At 500 m an error of 5 K in it is 0.1 % of pressure; taking one pressure for the other there is 6 %.
 *
 * @param seaLevelPressurePa as reported [Pa]
 * @throws {RangeError} an input outside reason
 */
export function stationPressurePa(
  seaLevelPressurePa: number,
  {heightM, temperatureK}: {heightM: number; temperatureK: number},
): number {
  requirePositive("stationPressurePa", "seaLevelPressurePa", seaLevelPressurePa);
  requirePositive("stationPressurePa", "temperatureK", temperatureK);
  if (!(heightM >= -500 && heightM <= 9000))
    throw new RangeError(`stationPressurePa: height must be -500 to 9000 m, found ${heightM} m`);
  const atSeaLevelK = temperatureK - LAPSE_K_PER_M * heightM;
  return (
    seaLevelPressurePa *
    (temperatureK / atSeaLevelK) ** (-STANDARD_GRAVITY_MPS2 / (GAS_J_KG_K * LAPSE_K_PER_M))
  );
}
