import {saturationPressureIf97Pa} from "./air-density.ts";
import {requirePositive} from "./check.ts";

/**
 * Formulas for the saturation pressure of water [Pa] over t [°C]; each as its makers print it. Between 0 and 40 °C all agree with
 * IAPWS-IF97 within 0.35 %, 0.005 % of air density. A station that prints a dew point made it with one of these.
 */
const FORMULAS = {
  "magnus-wmo": (t: number) => 611.2 * Math.exp((17.62 * t) / (243.12 + t)),
  "buck-1996": (t: number) => 611.21 * Math.exp(((18.678 - t / 234.5) * t) / (257.14 + t)),
  "buck-1981": (t: number) => 611.21 * Math.exp((17.502 * t) / (240.97 + t)),
  tetens: (t: number) => 610.78 * Math.exp((17.2693882 * t) / (237.3 + t)),
  "hyland-wexler": (t: number) => hylandWexler(t + 273.15),
  "goff-gratch-wmo": (t: number) => goffGratch(t + 273.15),
  "iapws-if97": (t: number) => saturationPressureIf97Pa(t + 273.15),
} as const;

/** Names of the formulas of `saturationPressurePa`. */
export type VapourFormula = keyof typeof FORMULAS;

/**
 * Saturation pressure of water vapour over water [Pa] by a named formula.
 *
 * @throws {RangeError} temperature outside 230–380 K, for IAPWS-IF97 below 273.15 K
 */
export function saturationPressurePa(temperatureK: number, formula: VapourFormula = "iapws-if97"): number {
  if (!(temperatureK >= 230 && temperatureK <= 380)) {
    throw new RangeError(`saturationPressurePa: temperature must be 230 to 380 K, found ${temperatureK} K`);
  }
  return FORMULAS[formula](temperatureK - 273.15);
}

/**
 * Relative humidity 0 … 1 from a dew point, both over water: ratio of the saturation pressures (Magnus, as weather services use
 * it; the factor by which moist air holds more than pure vapour cancels to 1e-4).
 *
 * @throws {RangeError} a temperature outside 230–380 K, a dew point above the temperature
 */
export function humidityFromDewPoint(temperatureK: number, dewPointK: number): number {
  if (dewPointK > temperatureK) {
    throw new RangeError(
      `humidityFromDewPoint: a dew point of ${dewPointK} K lies above the air's ${temperatureK} K; exchange them or mend one`,
    );
  }
  return saturationPressurePa(dewPointK, "magnus-wmo") / saturationPressurePa(temperatureK, "magnus-wmo");
}

/**
 * Dew point [K] by the inverse of the Magnus formula.
 *
 * @throws {RangeError} temperature outside 230–380 K, humidity not in 0 (exclusive) … 1
 */
export function dewPointMagnusK(temperatureK: number, humidity: number): number {
  if (!(humidity > 0 && humidity <= 1))
    throw new RangeError(`dewPointMagnusK: humidity must be above 0 and at most 1, found ${humidity}`);
  const share = Math.log((humidity * saturationPressurePa(temperatureK, "magnus-wmo")) / 611.2);
  return (243.12 * share) / (17.62 - share) + 273.15;
}

/**
 * Dew point [K] from the pressure of the vapour [Pa]: B. Hardy, ITS-90 formulations (1998), as in 40 CFR 1065.645.
 *
 * @throws {RangeError} pressure not above zero
 */
export function dewPointHardy1998K(vapourPressurePa: number): number {
  requirePositive("dewPointHardy1998K", "vapourPressurePa", vapourPressurePa);
  const l = Math.log(vapourPressurePa);
  return (
    (207.98233 + l * (-20.156028 + l * (0.46778925 - 9.2288067e-6 * l))) /
    (1 + l * (-0.13319669 + l * (5.6577518e-3 - 7.5172865e-5 * l)))
  );
}

/**
 * Kilograms of vapour in a kilogram of dry air: 0.621945 e/(p − e) (ASHRAE Fundamentals 2017, ch. 1).
 *
 * @throws {RangeError} the pressure is not above that of the vapour, or one is not above zero
 */
export function humidityRatio(vapourPressurePa: number, pressurePa: number): number {
  requirePositive("humidityRatio", "vapourPressurePa", vapourPressurePa);
  requirePositive("humidityRatio", "pressurePa", pressurePa);
  if (vapourPressurePa >= pressurePa)
    throw new RangeError(`humidityRatio: ${pressurePa} Pa is not above the vapour's ${vapourPressurePa} Pa`);
  return (0.621945 * vapourPressurePa) / (pressurePa - vapourPressurePa);
}

/** R. W. Hyland and A. Wexler, ASHRAE Trans. 89 (1983) 500. */
function hylandWexler(temperatureK: number): number {
  const T = temperatureK;
  return Math.exp(
    -5.8002206e3 / T +
      1.3914993 -
      4.8640239e-2 * T +
      4.1764768e-5 * T * T -
      1.4452093e-8 * T ** 3 +
      6.5459673 * Math.log(T),
  );
}

/** Goff and Gratch in the form of the WMO, as in 40 CFR 1065.645; prints kPa. */
function goffGratch(temperatureK: number): number {
  const ratio = temperatureK / 273.16;
  const exponent =
    10.79574 * (1 - 1 / ratio) -
    5.028 * Math.log10(ratio) +
    1.50475e-4 * (1 - 10 ** (-8.2969 * (ratio - 1))) +
    0.42873e-3 * (10 ** (4.76955 * (1 - 1 / ratio)) - 1) -
    0.2138602;
  return 1000 * 10 ** exponent;
}
