import type {Air} from "../result/session.ts";
import {airDensityPicard2008} from "./air-density-picard.ts";
import {geopotentialHeightM, standardAtmosphere1976, stationPressurePa} from "./standard-atmosphere.ts";
import {humidityFromDewPoint} from "./vapour.ts";

/** Density of the day's air with what it rests on. */
export interface SessionAir {
  densityKgM3: number;
  /** standard uncertainty [kg/m³] */
  densityUKgM3: number;
  temperatureK: number;
  pressurePa: number;
  humidity: number;
  /** what was taken because nobody measured it, in words; empty where all was */
  assumed: string[];
}

/** What an analyst's thermometer, barometer and hygrometer are good to (k = 1). */
const THERMOMETER_K = 1;
const BAROMETER_PA = 150;
const HYGROMETER = 0.1;
/** Standing in for them: what days are off the standard atmosphere. */
const UNMEASURED_K = 10;
const UNMEASURED_PA = 1000;
const UNMEASURED_HUMIDITY = 0.5;
const UNMEASURED_HUMIDITY_U = 0.2;
/** Air that no weather makes at a place where cars drive [kg/m³]. */
const LEAST_KG_M3 = 0.75;
const MOST_KG_M3 = 1.55;

/**
 * Density of the air of a session, CIPM-2007, from what was written down: station pressure, or the one reduced to sea level with the
 * height of the place; humidity or dew point. What is missing comes from the standard atmosphere at the height, with its
 * uncertainty.
 *
 * @param air     as the session has it
 * @param logged  mean height of the logs above sea level [m], or null; used where the session has none
 * @param temperatureK of one run, where that was noted
 * @throws {RangeError} a density outside any weather, or an input outside reason: a unit was mistaken
 */
export function sessionAir(
  air: Air,
  logged: {heightM: number | null},
  temperatureK: number | null = null,
): SessionAir {
  const assumed: string[] = [];
  const known = air.heightM ?? logged.heightM;
  const heightM = known ?? 0;
  const standard = standardAtmosphere1976(geopotentialHeightM(heightM));
  const where = known === null ? "at sea level, since no height is known" : `at ${heightM.toFixed(0)} m`;
  const temperature = temperatureK ?? air.temperatureK ?? standard.temperatureK;
  const temperatureU = temperatureK === null && air.temperatureK === null ? UNMEASURED_K : THERMOMETER_K;
  if (temperatureU === UNMEASURED_K) assumed.push(`the temperature of the standard atmosphere ${where}`);
  let pressurePa = air.pressurePa;
  let pressureU = BAROMETER_PA;
  if (pressurePa === null && air.seaLevelPressurePa !== null)
    pressurePa = stationPressurePa(air.seaLevelPressurePa, {heightM, temperatureK: temperature});
  if (pressurePa === null) {
    pressurePa = standard.pressurePa;
    pressureU = UNMEASURED_PA;
    assumed.push(`the pressure of the standard atmosphere ${where}`);
  }
  const stated =
    air.humidity ??
    (air.dewPointK === null ? null : humidityFromDewPoint(air.temperatureK ?? temperature, air.dewPointK));
  if (stated === null) assumed.push("a humidity of 0.5 ± 0.2");
  const humidity = stated ?? UNMEASURED_HUMIDITY;
  const humidityU = stated === null ? UNMEASURED_HUMIDITY_U : HYGROMETER;
  const densityKgM3 = airDensityPicard2008({temperatureK: temperature, pressurePa, humidity});
  if (!(densityKgM3 >= LEAST_KG_M3 && densityKgM3 <= MOST_KG_M3))
    throw new RangeError(
      `an air density of ${densityKgM3.toFixed(3)} kg/m³ is outside any weather: ${(temperature - 273.15).toFixed(1)} °C and ${(pressurePa / 100).toFixed(0)} hPa; mend temperature or pressure`,
    );
  const drier = airDensityPicard2008({temperatureK: temperature, pressurePa, humidity: 0});
  const perHumidity = humidity > 0 ? (drier - densityKgM3) / humidity : 0;
  const densityUKgM3 = Math.hypot(
    (densityKgM3 * temperatureU) / temperature,
    (densityKgM3 * pressureU) / pressurePa,
    perHumidity * humidityU,
  );
  return {densityKgM3, densityUKgM3, temperatureK: temperature, pressurePa, humidity, assumed};
}
