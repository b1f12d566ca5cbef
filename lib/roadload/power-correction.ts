import {requirePositive} from "./check.ts";

/** Air at the engine's intake. */
export interface IntakeAir {
  temperatureK: number;
  /** total pressure [Pa] */
  pressurePa: number;
  /** part of it that is water vapour [Pa] */
  vapourPressurePa: number;
}

/** Which factor, and what it has to know of the engine. */
export type PowerStandard =
  | {standard: "SAE J1349 (1990)"}
  | {standard: "ISO 1585, spark ignition"}
  /** fuel per cycle over pressure ratio, q/r [mg/(l cycle)]; `turbocharged` false = naturally aspirated or mechanically supercharged */
  | {standard: "ISO 1585, compression ignition"; turbocharged: boolean; fuelMgPerLitreCycle: number}
  | {standard: "DIN 70020"};

/** A factor that turns measured engine power into power in reference air. */
export interface PowerCorrection {
  standard: string;
  factor: number;
  /** factor, temperature and pressure lie within what the standard allows */
  valid: boolean;
  /** what it means, and why it may not suit */
  words: string;
}

/** Celsius of these standards: 298 K is 25 °C. */
const ZERO_C_K = 273;
/** Why a page that shows such a factor has to say more. */
const CAUTION =
  "a factor for an unboosted engine in steady state on a bench: boost control makes up for thin air, so it overstates boosted engines, and two arms driven on one day share their air, so there it takes nothing out";

/**
 * Factor by which a standard brings engine power to reference air. Never applied unasked.
 *
 * Formulas from memory; the standards were not seen (the factors are exactly 1 at their reference air). They disagree by up to
 * 1 % on the same air, so a corrected figure has to name its standard.
 *
 * @throws {RangeError} an input not above zero, vapour not below the pressure
 */
export function powerCorrection(air: IntakeAir, standard: PowerStandard): PowerCorrection {
  requirePositive("powerCorrection", "temperatureK", air.temperatureK);
  requirePositive("powerCorrection", "pressurePa", air.pressurePa);
  if (!(air.vapourPressurePa >= 0 && air.vapourPressurePa < air.pressurePa))
    throw new RangeError(
      `powerCorrection: the vapour's ${air.vapourPressurePa} Pa must lie from 0 to below ${air.pressurePa} Pa`,
    );
  const dryPa = air.pressurePa - air.vapourPressurePa;
  const {factor, low, high, fits} = factorOf(air, dryPa, standard);
  const valid = factor >= low && factor <= high && fits;
  const range = `${low} to ${high}`;
  return {
    standard: standard.standard,
    factor,
    valid,
    words: `${standard.standard}: factor ${factor.toFixed(4)}${valid ? "" : `, outside its range of validity (${range}${fits ? "" : ", and temperature or pressure outside"})`}; ${CAUTION}`,
  };
}

/**
 * Engine power in reference air [W].
 *
 * @throws {RangeError} the correction is outside the validity of its standard
 */
export function correctedPowerW(powerW: number, correction: PowerCorrection): number {
  if (!correction.valid)
    throw new RangeError(`correctedPowerW: ${correction.words}; show the power as measured and name its air`);
  return powerW * correction.factor;
}

function factorOf(
  {temperatureK, pressurePa}: IntakeAir,
  dryPa: number,
  standard: PowerStandard,
): {factor: number; low: number; high: number; fits: boolean} {
  switch (standard.standard) {
    case "SAE J1349 (1990)": {
      const celsius = temperatureK - 273.15;
      const factor = 1.18 * (99_000 / dryPa) * Math.sqrt((celsius + ZERO_C_K) / 298) - 0.18;
      return {factor, low: 0.93, high: 1.07, fits: true};
    }
    case "ISO 1585, spark ignition": {
      const factor = (99_000 / dryPa) ** 1.2 * (temperatureK / 298) ** 0.6;
      return {factor, low: 0.93, high: 1.07, fits: isoRange(temperatureK, dryPa)};
    }
    case "ISO 1585, compression ignition": {
      const {turbocharged, fuelMgPerLitreCycle: fuel} = standard;
      requirePositive("powerCorrection", "fuelMgPerLitreCycle", fuel);
      const ratio = 99_000 / dryPa;
      const heat = temperatureK / 298;
      const atmospheric = turbocharged ? ratio ** 0.7 * heat ** 1.5 : ratio * heat ** 0.7;
      const engine = fuel < 40 ? 0.3 : fuel > 65 ? 1.2 : 0.036 * fuel - 1.14;
      return {factor: atmospheric ** engine, low: 0.9, high: 1.1, fits: isoRange(temperatureK, dryPa)};
    }
    case "DIN 70020": {
      const celsius = temperatureK - 273.15;
      const factor = (101_300 / pressurePa) * Math.sqrt((celsius + ZERO_C_K) / 293);
      return {factor, low: 0.93, high: 1.07, fits: true}; // the old standard knew no range; that of its successor stands in
    }
  }
}

/** ISO 1585: 288–308 K, 80–110 kPa dry. */
function isoRange(temperatureK: number, dryPa: number): boolean {
  return temperatureK >= 288 && temperatureK <= 308 && dryPa >= 80_000 && dryPa <= 110_000;
}
