import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {saturationPressureIf97Pa} from "../../lib/roadload/air-density.ts";
import {
  airDensityPicard2008,
  moistAirPicard2008,
  scaledAirDensity,
} from "../../lib/roadload/air-density-picard.ts";
import {gravityGrs80, gravityWgs84} from "../../lib/roadload/gravity.ts";
import {correctedPowerW, type PowerStandard, powerCorrection} from "../../lib/roadload/power-correction.ts";
import {
  geopotentialHeightM,
  standardAtmosphere1976,
  stationPressurePa,
} from "../../lib/roadload/standard-atmosphere.ts";
import {
  dewPointHardy1998K,
  dewPointMagnusK,
  humidityFromDewPoint,
  humidityRatio,
  saturationPressurePa,
  type VapourFormula,
} from "../../lib/roadload/vapour.ts";
import {assertClose} from "../assert-close.ts";
import {reference} from "../reference.ts";

// Rows B2, B3, B4, B5, B9: each names its source and status in the file.
const {row} = reference("roadload-air");
// biome-ignore lint/suspicious/noExplicitAny: rows differ in shape
const full = (id: string): any => row(id);
const celsius = (t: number) => t + 273.15;

describe("airDensityPicard2008", () => {
  it("follows CIPM-2007 with every step on the way", () => {
    const {cases, tolerance} = full("B3-cipm2007");
    for (const {t_C, p_Pa, h, rho, p_sv, f, x_v, Z} of cases) {
      const air = moistAirPicard2008({temperatureK: celsius(t_C), pressurePa: p_Pa, humidity: h});
      assertClose(air.densityKgM3, rho, {rel: tolerance.rel}, "density");
      assertClose(air.saturationPressurePa, p_sv, {rel: tolerance.rel}, "saturation");
      assertClose(air.enhancementFactor, f, {rel: tolerance.rel}, "enhancement");
      assertClose(air.vapourFraction, x_v, {rel: tolerance.rel}, "vapour");
      assertClose(air.compressibility, Z, {rel: tolerance.rel}, "compressibility");
    }
  });
  it("refuses what stands in another unit, by name", () => {
    const air = {temperatureK: 293.15, pressurePa: 101_325, humidity: 0.5};
    assert.throws(() => airDensityPicard2008({...air, humidity: 55}), {
      message: /humidity must be 0 to 1, found 55; 55 % is written 0\.55/,
    });
    assert.throws(() => airDensityPicard2008({...air, pressurePa: 1013}), {message: /1013 hPa is 101300 Pa/});
    assert.throws(() => airDensityPicard2008({...air, temperatureK: 20}), {message: /20 °C is 293\.15 K/});
  });
  it("scales as the docstring says and as an ideal gas does", () => {
    const here = {temperatureK: 293.15, pressurePa: 101_325};
    const density = airDensityPicard2008({...here, humidity: 0.5});
    const warmer = airDensityPicard2008({...here, temperatureK: 294.15, humidity: 0.5});
    // a kelvin is 0.34 % by expansion and a little more by the vapour that goes with it
    assertClose(warmer / density - 1, -0.0038, 0.0003);
    // A real gas and the vapour leave less than 0.1 % of the density over 5 K.
    const cooler = {temperatureK: 288.15, pressurePa: 100_000};
    assertClose(scaledAirDensity(density, here, cooler), airDensityPicard2008({...cooler, humidity: 0.68}), {
      rel: 1e-3,
    });
  });
});

describe("vapour", () => {
  it("meets six published formulas", () => {
    const names: Record<string, VapourFormula> = {
      magnus_wmo: "magnus-wmo",
      buck_1996: "buck-1996",
      buck_1981: "buck-1981",
      tetens: "tetens",
      hyland_wexler: "hyland-wexler",
      goff_gratch_wmo: "goff-gratch-wmo",
    };
    const {cases, tolerance} = full("B4-formulas");
    for (const entry of cases)
      for (const [key, name] of Object.entries(names))
        assertClose(
          saturationPressurePa(celsius(entry.t_C), name),
          entry[key],
          {rel: tolerance.rel},
          `${name} at ${entry.t_C} °C`,
        );
  });
  it("meets the printed table", () => {
    const {cases, tolerance} = full("B4-table");
    // At 5 °C the row's tolerance is narrower than half of the last printed digit, 0.05 Pa; the wider one holds.
    for (const {t_C, p_Pa} of cases)
      assertClose(saturationPressureIf97Pa(celsius(t_C)), p_Pa, Math.max(0.05, tolerance.rel * p_Pa));
  });
  it("meets the worked examples of 40 CFR 1065.645", () => {
    const {cases, tolerance} = full("B4-cfr");
    const [first, second, third] = cases;
    assertClose(saturationPressurePa(first.T_K, "goff-gratch-wmo") / 1000, first.e_kPa, {rel: tolerance.rel});
    // mole fraction = RH e_sat / p, printed to five digits: half of the last one
    assertClose((second.RH * second.e_sat_kPa) / second.p_kPa, second.x_H2O, 5e-7);
    assertClose(dewPointHardy1998K(third.e_Pa), third.dew_point_K, {rel: tolerance.rel});
  });
  it("goes from humidity to dew point and back", () => {
    const {inputs, expected, tolerance} = full("B4-magnus-dewpoint");
    const dewPointK = dewPointMagnusK(celsius(inputs.t_C), inputs.h);
    assertClose(dewPointK - 273.15, expected.dew_point_C, {rel: tolerance.rel});
    assertClose(humidityFromDewPoint(celsius(inputs.t_C), dewPointK), inputs.h, 1e-12);
    assert.throws(() => humidityFromDewPoint(290, 291), {message: /lies above the air's 290 K/});
  });
  it("meets the humidity ratio of ASHRAE", () => {
    const {inputs, expected, tolerance} = full("B3-humidity-ratio");
    assertClose(humidityRatio(inputs.e_Pa, inputs.p_Pa), expected.W, {rel: tolerance.rel});
    assert.throws(() => humidityRatio(2000, 1000), {name: "RangeError"});
    // Example 1, read off a chart: 40 °C with 14 % humidity holds 0.0065 kg/kg and has a dew point of 7 °C.
    const example = full("B3-ashrae-example");
    const vapourPa = example.expected.relative_humidity * saturationPressureIf97Pa(celsius(40));
    assertClose(
      humidityRatio(vapourPa, example.inputs.p_Pa),
      example.expected.humidity_ratio,
      example.tolerance.humidity_ratio,
    );
    assertClose(
      dewPointHardy1998K(vapourPa) - 273.15,
      example.expected.dew_point_C,
      example.tolerance.dew_point,
    );
  });
});

describe("standardAtmosphere1976", () => {
  it("meets the tables in geopotential and geometric height", () => {
    const {cases, tolerance} = full("B2-isa");
    for (const {altitude_m, geopotential, geometric} of cases) {
      for (const [heightM, {T_K, p_Pa, rho}] of [
        [altitude_m, geopotential],
        [geopotentialHeightM(altitude_m), geometric],
      ]) {
        const air = standardAtmosphere1976(heightM);
        assertClose(air.temperatureK, T_K, {rel: tolerance.rel});
        assertClose(air.pressurePa, p_Pa, {rel: tolerance.rel});
        assertClose(air.densityKgM3, rho, {rel: tolerance.rel});
      }
    }
  });
  it("says how far the air of a day may be off", () => {
    // By hand: √((10/288.15)² + (1000/101325)²) = 3.61 %.
    const {densityKgM3, densityUKgM3} = standardAtmosphere1976(0);
    assertClose(densityUKgM3 / densityKgM3, 0.0361, 5e-5);
    assert.throws(() => standardAtmosphere1976(40_000), {name: "RangeError", message: /found 40000 m/});
  });
  it("takes a sea-level pressure up to the station", () => {
    // The standard atmosphere itself: from 1013.25 hPa at sea level to its own pressure at 500 m.
    const {temperatureK, pressurePa} = standardAtmosphere1976(500);
    assertClose(stationPressurePa(101_325, {heightM: 500, temperatureK}), pressurePa, {rel: 1e-12});
    assert.throws(() => stationPressurePa(101_325, {heightM: 50_000, temperatureK}), {name: "RangeError"});
  });
});

describe("gravity", () => {
  it("meets WGS 84 and GRS 80", () => {
    for (const [id, gravity] of [
      ["B9-wgs84", gravityWgs84],
      ["B9-grs80", gravityGrs80],
    ] as const) {
      const {cases, tolerance} = full(id);
      for (const {lat, g} of cases) assertClose(gravity(lat), g, tolerance.abs, `${id} at ${lat}`);
    }
    // By hand: 1000 m higher it is 3.086e-3 m/s² less.
    assertClose(gravityWgs84(45, 1000), gravityWgs84(45) - 3.086e-3, 1e-12);
    assert.throws(() => gravityWgs84(91), {name: "RangeError", message: /found 91/});
  });
});

describe("powerCorrection", () => {
  const air = (dryPa: number, temperatureK: number, vapourPressurePa = 0) => ({
    temperatureK,
    pressurePa: dryPa + vapourPressurePa,
    vapourPressurePa,
  });
  const factor = (given: Parameters<typeof powerCorrection>[0], standard: PowerStandard) =>
    powerCorrection(given, standard).factor;

  it("meets the formulas of four standards", () => {
    const j1349 = full("B5-j1349");
    for (const {pd_hPa, t_C, cf, p_total_hPa, e_hPa} of j1349.cases) {
      const dryPa = 100 * (pd_hPa ?? p_total_hPa - e_hPa);
      assertClose(factor(air(dryPa, celsius(t_C)), {standard: "SAE J1349 (1990)"}), cf, {
        rel: j1349.tolerance.rel,
      });
    }
    const iso = full("B5-iso1585");
    for (const {ps_kPa, T_K, alpha} of iso.cases)
      assertClose(factor(air(1000 * ps_kPa, T_K), {standard: "ISO 1585, spark ignition"}), alpha, {
        rel: iso.tolerance.rel,
      });
    const diesel = full("B5-iso1585-diesel");
    for (const {kind, ps_kPa, T_K, qc, alpha} of diesel.cases) {
      const standard = {
        standard: "ISO 1585, compression ignition",
        turbocharged: kind === "turbo",
        fuelMgPerLitreCycle: qc,
      } as const;
      assertClose(factor(air(1000 * ps_kPa, T_K), standard), alpha, {rel: diesel.tolerance.rel});
    }
    const din = full("B5-din70020");
    for (const {p_hPa, t_C, ka} of din.cases)
      assertClose(factor(air(100 * p_hPa, celsius(t_C)), {standard: "DIN 70020"}), ka, {
        rel: din.tolerance.rel,
      });
  });
  it("shows how far they disagree on the same air", () => {
    const {inputs, expected, tolerance} = full("B5-compare");
    const here = {
      temperatureK: celsius(inputs.t_C),
      pressurePa: 100 * inputs.p_total_hPa,
      vapourPressurePa: 100 * inputs.e_hPa,
    };
    assertClose(factor(here, {standard: "SAE J1349 (1990)"}), expected.j1349, {rel: tolerance.rel});
    assertClose(factor(here, {standard: "ISO 1585, spark ignition"}), expected.iso1585, {rel: tolerance.rel});
    assertClose(factor(here, {standard: "DIN 70020"}), expected.din70020, {rel: tolerance.rel});
  });
  it("refuses to correct outside the range of its standard, and says what it is not for", () => {
    const thin = powerCorrection(air(85_000, 298.15), {standard: "SAE J1349 (1990)"});
    assert.equal(thin.valid, false);
    assert.throws(() => correctedPowerW(100_000, thin), {
      name: "RangeError",
      message: /outside its range of validity \(0\.93 to 1\.07\)/,
    });
    const usual = powerCorrection(air(98_000, 303.15), {standard: "ISO 1585, spark ignition"});
    assertClose(correctedPowerW(100_000, usual), 100_000 * usual.factor, 1e-9);
    assert.match(usual.words, /boost control/);
    assert.match(usual.words, /share their air/);
    const hot = powerCorrection(air(99_000, 315), {standard: "ISO 1585, spark ignition"});
    assert.equal(hot.valid, false); // its factor is within 1.07, its temperature is not
  });
});
