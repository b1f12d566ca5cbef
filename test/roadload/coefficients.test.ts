import assert from "node:assert/strict";
import fc from "fast-check";
import {describe, it} from "vitest";
import {betweenSpeeds} from "../../lib/roadload/between-speeds.ts";
import {levelForceN, loadWords, toCoefficients, toDragAndRolling} from "../../lib/roadload/coefficients.ts";
import {rotatingMass} from "../../lib/roadload/rotating-mass.ts";
import {toSI} from "../../lib/units/unit.ts";
import {assertClose} from "../assert-close.ts";
import {reference} from "../reference.ts";

// B6-sensitivity; B7-epa-cars: US certification data of twelve cars, see source and status in the file.
const {row} = reference("roadload-cars");
// biome-ignore lint/suspicious/noExplicitAny: rows differ in shape
const full = (id: string): any => row(id);
const mph = (value: number) => toSI(value, "mph");

describe("road-load coefficients", () => {
  it("turn US certification data into SI, power and coastdown time", () => {
    for (const car of full("B7-epa-cars").cases) {
      const load = {
        f0N: toSI(car.A_lbf, "lbf"),
        f1NPerMps: toSI(car.B_lbf_per_mph, "lbf/mph"),
        f2NPerMps2: toSI(car.C_lbf_per_mph2, "lbf/mph2"),
      };
      assertClose(load.f0N, car.F0_N, {rel: 1e-9});
      assertClose(load.f1NPerMps, car.F1_N_per_ms, {rel: 1e-9});
      assertClose(load.f2NPerMps2, car.F2_N_per_ms2, {rel: 1e-9});
      const force = levelForceN(load, 100 / 3.6);
      assertClose(force, car.force_N_at_100kmh, {rel: 1e-9});
      assertClose((force * 100) / 3.6 / 1000, car.power_kW_at_100kmh, {rel: 1e-9});
      // 550 ft lbf/s; the listed value is rounded to 0.1
      const horsepower = (levelForceN(load, mph(50)) * mph(50)) / 745.6998715822702;
      assertClose(horsepower, car.computed_hp_50mph, 1e-6);
      assertClose(horsepower, car.listed_road_load_hp_50mph, 0.06);
      const coast = betweenSpeeds(v => -levelForceN(load, v), {
        massKg: toSI(car.etw_lb, "lb"),
        fromMps: mph(70),
        toMps: mph(50),
      })!;
      assertClose(coast.elapsedS, car.coastdown_s_70_to_50mph_mass_etw, {rel: 1e-9});
      const {dragAreaM2} = toDragAndRolling(load, {massKg: 1500, airDensityKgM3: 1.2});
      assertClose(dragAreaM2, car.CdA_if_F2_only_rho_1p2, {rel: 1e-9});
    }
  });
  it("come back from drag area and rolling coefficient", () => {
    const some = (min: number, max: number) => fc.double({min, max, noNaN: true});
    fc.assert(
      fc.property(
        some(50, 400),
        some(-5, 5),
        some(0.1, 1),
        some(600, 3000),
        some(0.9, 1.4),
        (f0N, f1NPerMps, f2NPerMps2, massKg, airDensityKgM3) => {
          const there = toDragAndRolling({f0N, f1NPerMps, f2NPerMps2}, {massKg, airDensityKgM3});
          const back = toCoefficients(there, {massKg, airDensityKgM3});
          assertClose(back.f0N, f0N, {rel: 1e-12});
          assertClose(back.f1NPerMps, f1NPerMps, 1e-12);
          assertClose(back.f2NPerMps2, f2NPerMps2, {rel: 1e-12});
        },
      ),
    );
  });
  it("are told with their units in both forms", () => {
    // By hand: 1000 kg · 9.80665 · 0.012 = 117.7 N; ½ · 1.2 · 0.65 = 0.39 N/(m/s)².
    const load = toCoefficients(
      {dragAreaM2: 0.65, rollingCoefficient: 0.012, rollingPerMps: 0},
      {massKg: 1000, airDensityKgM3: 1.2},
    );
    assert.equal(
      loadWords(load, {massKg: 1000, airDensityKgM3: 1.2}),
      "F0 117.7 N, F1 0.00 N/(m/s), F2 0.3900 N/(m/s)²; CdA 0.650 m², Crr 0.01200",
    );
    assert.throws(
      () =>
        toCoefficients(
          {dragAreaM2: 0.65, rollingCoefficient: 0.012, rollingPerMps: 0},
          {massKg: 0, airDensityKgM3: 1.2},
        ),
      {
        message: /massKg must be .* above 0, found 0/,
      },
    );
  });
});

describe("small changes at constant power", () => {
  it("meet the derivatives by hand", () => {
    const {expected, tolerance} = full("B6-sensitivity");
    const time = ({massKg = 1500, powerW = 100_000, scale = 1}) =>
      betweenSpeeds(v => powerW / v, {massKg, fromMps: (60 * scale) / 3.6, toMps: (120 * scale) / 3.6})!
        .elapsedS;
    const base = time({});
    assertClose(time({powerW: 101_000}) - base, expected.dt_for_plus_1pct_P, {rel: tolerance.rel});
    assertClose(time({massKg: 1510}) - base, expected.dt_for_plus_10kg, {rel: tolerance.rel});
    assertClose(time({scale: 1.005}) - base, expected["dt_for_speed_scale_plus_0.5pct"], {
      rel: tolerance.rel,
    });
    // time goes inversely with power
    assertClose((100_000 * base) / 6.1, expected["P_from_t_6.10s"], {rel: tolerance.rel});
  });
});

describe("rotatingMass", () => {
  it("takes a stated factor before any rule", () => {
    assert.deepEqual(rotatingMass({stated: 1.061, overallRatio: 5}), {
      factor: 1.061,
      factorU: 0.1 * (1.061 - 1),
      source: "stated",
    });
  });
  it("names the rule that it falls back on", () => {
    // By hand: 1.04 + 0.0025 · 36 = 1.13 at an overall ratio of 6.
    assertClose(rotatingMass({overallRatio: 6}).factor, 1.13, 1e-12);
    assert.match(rotatingMass({overallRatio: 6}).source, /Taborek 1957/);
    assert.equal(rotatingMass({}).factor, 1.03);
    assert.throws(() => rotatingMass({stated: 0.9}), {name: "RangeError", message: /found 0\.9/});
  });
});
