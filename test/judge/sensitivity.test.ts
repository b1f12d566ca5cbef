import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {type BandCar, bandCar, bandTimeChanges} from "../../lib/judge/sensitivity.ts";
import {assertClose} from "../assert-close.ts";
import {reference} from "../reference.ts";

const KMH = 5 / 18;
const BAND = {fromMps: 60 * KMH, toMps: 120 * KMH};
const FREE: BandCar = {
  massKg: 1500,
  rotatingMassFactor: 1,
  dragAreaM2: 0,
  rollingCoefficient: 0,
  airDensityKgM3: 1.2,
  assumed: [],
};
/** F0 = 150 N and F2 = 0.38 kg/m of row B6-power-roadload as rolling and drag. */
const LOADED: BandCar = {...FREE, rollingCoefficient: 150 / (1500 * 9.80665), dragAreaM2: (2 * 0.38) / 1.2};

describe("bandTimeChanges", () => {
  it("has the sensitivities of constant power without resistance", () => {
    // B6-sensitivity: m 1500 kg, P 100 kW, 60–120 km/h, 6.25 s; derivatives of the closed form t = m (v2² − v1²)/(2P).
    const {expected} = reference("roadload-cars").row("B6-sensitivity");
    const explain = bandTimeChanges(FREE, BAND, 6.25)!;
    assertClose(explain({powerShare: 0.01})!, expected.dt_for_plus_1pct_P, 1e-9);
    assertClose(explain({massKg: 10})!, expected.dt_for_plus_10kg, 1e-9);
  });

  it("has the grades of constant power against road load", () => {
    // B6-power-roadload, cases 1, 4 and 5 (mpmath 1.3.0): 7.05175231635 s level, 7.37619953738 s at +1 %, 6.75591723921 s at −1 %.
    const explain = bandTimeChanges(LOADED, BAND, 7.05175231635)!;
    // The row has F0 constant where rolling goes with cos α: 5e-5 of 150 N, 2e-6 of the net force.
    assertClose(explain({grade: 0.01})!, 7.37619953738 - 7.05175231635, 3e-5);
    assertClose(explain({grade: -0.01})!, 6.75591723921 - 7.05175231635, 3e-5);
  });

  it("takes a headwind, thicker air, a heavier car and harder rolling for slower, more power for faster", () => {
    const explain = bandTimeChanges(LOADED, BAND, 7)!;
    for (const change of [{headwindMps: 1}, {airDensityShare: 0.01}, {massKg: 15}, {rollingShare: 0.1}])
      assert.ok(explain(change)! > 0, JSON.stringify(change));
    assert.ok(explain({powerShare: 0.01})! < 0);
    assert.equal(explain({massKg: 0, grade: 0}), 0);
  });

  it("has no answer for a coastdown, nor where the car would not get through", () => {
    assert.equal(bandTimeChanges(FREE, {fromMps: 30, toMps: 20}, 20), null);
    assert.equal(bandTimeChanges(LOADED, BAND, 7)!({grade: 1}), null);
  });

  it("finds the power for any time that a car can have", () => {
    for (const elapsedS of [1.5, 3, 6, 12, 30, 90]) {
      const explain = bandTimeChanges(LOADED, BAND, elapsedS)!;
      assert.ok(explain({massKg: 1})! > 0, `${elapsedS} s`);
    }
  });
});

describe("bandCar", () => {
  const nothing = {
    vehicle: {
      massKg: null,
      massUncertaintyKg: null,
      dragAreaM2: null,
      rollingCoefficient: null,
      rotatingMassFactor: null,
    },
    air: {
      temperatureK: null,
      pressurePa: null,
      seaLevelPressurePa: null,
      heightM: null,
      humidity: null,
      dewPointK: null,
    },
    wind: null,
  };
  it("names what it had to assume", () => {
    const car = bandCar(nothing);
    assert.deepEqual(car.assumed, ["mass 1400 kg", "CdA 0.68 m²", "Crr 0.012"]);
    assert.deepEqual(bandCar({...nothing, vehicle: {...nothing.vehicle, massKg: 1200}}).assumed.length, 2);
  });
  it("takes no density from a pressure that is a slip of the pen, nor from frost", () => {
    const air = {...nothing.air, temperatureK: 300, pressurePa: 1010, humidity: 0.5};
    assert.equal(bandCar({...nothing, air}).airDensityKgM3, bandCar(nothing).airDensityKgM3);
    const frost = {...nothing.air, temperatureK: 268, pressurePa: 101_000, humidity: 0.5};
    assert.ok(bandCar({...nothing, air: frost}).airDensityKgM3 > 1);
  });
});
