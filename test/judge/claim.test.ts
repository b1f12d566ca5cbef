import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {type Claim, claimOnTheRoad} from "../../lib/judge/claim.ts";
import type {BandCar} from "../../lib/judge/sensitivity.ts";
import {betweenSpeeds} from "../../lib/roadload/between-speeds.ts";
import {roadLoadN} from "../../lib/roadload/road-load.ts";
import {propagateDistributions} from "../../lib/stats/monte-carlo.ts";
import {createRandom} from "../../lib/stats/random.ts";
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
const CAR: BandCar = {...FREE, rotatingMassFactor: 1.05, dragAreaM2: 0.68, rollingCoefficient: 0.012};

/** A change by hand: the power that makes the time, then the integral again with what differs. */
function byHand(car: BandCar, elapsedS: number, {power = 0, mass = 0, drag = 0}): number {
  const time = (powerW: number, massKg: number, dragAreaM2: number) =>
    betweenSpeeds(
      v =>
        powerW / v -
        roadLoadN(v, {
          massKg,
          dragAreaM2,
          rollingCoefficient: car.rollingCoefficient,
          airDensityKgM3: car.airDensityKgM3,
        }),
      {massKg: massKg + (car.rotatingMassFactor - 1) * car.massKg, ...BAND},
    )!.elapsedS;
  let [low, high] = [50_000, 500_000];
  for (let i = 0; i < 80; i++) {
    const middle = (low + high) / 2;
    if (time(middle, car.massKg, car.dragAreaM2) > elapsedS) low = middle;
    else high = middle;
  }
  return time(low * (1 + power), car.massKg + mass, car.dragAreaM2 * (1 + drag)) - elapsedS;
}

describe("claimOnTheRoad", () => {
  it("has the seconds of the closed form without resistance", () => {
    // B6-sensitivity: m 1500 kg, P 100 kW, 60–120 km/h, 6.25 s; derivatives of t = m (v2² − v1²)/(2P).
    const {expected} = reference("roadload-cars").row("B6-sensitivity");
    const of = (claim: Claim) =>
      claimOnTheRoad(claim, {car: FREE, band: BAND, elapsedS: {value: 6.25}})!.changeS;
    assertClose(of({powerShare: {value: 0.01}}), expected.dt_for_plus_1pct_P, 1e-9);
    assertClose(of({massKg: {value: 10}}), expected.dt_for_plus_10kg, 1e-9);
  });

  it("agrees with the integral by hand for power, mass and drag, alone and together", () => {
    for (const [power, mass, drag] of [
      [0.05, 0, 0],
      [0, -20, 0],
      [0, 0, -0.1],
      [0.03, 15, 0.05],
    ] as const) {
      const {changeS} = claimOnTheRoad(
        {powerShare: {value: power}, massKg: {value: mass}, dragAreaShare: {value: drag}},
        {car: CAR, band: BAND, elapsedS: {value: 7}},
      )!;
      assertClose(changeS, byHand(CAR, 7, {power, mass, drag}), 1e-9); // bisection ends at rounding
    }
  });

  it("has slopes that agree with the integral for small claims, and differ as it bends for large ones", () => {
    const of = (value: number) =>
      claimOnTheRoad({powerShare: {value}}, {car: CAR, band: BAND, elapsedS: {value: 7}})!;
    // t goes as 1/(P − load): the second order is about the claim times P/(P − load), here 1.3
    assertClose(of(0.001).bySensitivityS / of(0.001).changeS, 1, 0.0015);
    const large = of(0.1);
    assert.ok(large.bySensitivityS < large.changeS && large.bySensitivityS / large.changeS < 1.2);
  });

  it("has the interval that drawing the inputs gives", () => {
    const claim = {powerShare: {value: 0.04, standardUncertainty: 0.01}};
    const known = {
      car: CAR,
      carUncertainty: {massKg: 40, dragAreaM2: 0.05},
      band: BAND,
      elapsedS: {value: 7, standardUncertainty: 0.1},
    };
    const ours = claimOnTheRoad(claim, known)!;
    const drawn = propagateDistributions(
      random => {
        const car = {
          ...CAR,
          massKg: CAR.massKg + 40 * random.normal(),
          dragAreaM2: CAR.dragAreaM2 + 0.05 * random.normal(),
        };
        const change = claimOnTheRoad(
          {powerShare: {value: 0.04 + 0.01 * random.normal()}},
          {car, band: BAND, elapsedS: {value: 7 + 0.1 * random.normal()}},
        )!.changeS;
        return change * (1 + (0.1 / Math.sqrt(3)) * random.normal());
      },
      {random: createRandom(5, "claim"), nTrials: 2000},
    );
    // 2000 draws: 1.6 % of a standard uncertainty; curvature of 1/P another per cent
    assertClose(ours.standardUncertaintyS / drawn.standardUncertainty, 1, 0.06);
    assertClose(ours.interval.low, drawn.interval.low, 0.12 * ours.standardUncertaintyS);
    assertClose(ours.interval.high, drawn.interval.high, 0.12 * ours.standardUncertaintyS);
    assert.equal(ours.budget[0]!.source, "claimed power");
    assertClose(
      Math.hypot(...ours.budget.map(({contributionS}) => contributionS)),
      ours.standardUncertaintyS,
      1e-15,
    );
  });

  it("has no answer where the car would not get through", () => {
    const at = (claim: Claim, elapsedS = 7) =>
      claimOnTheRoad(claim, {car: CAR, band: BAND, elapsedS: {value: elapsedS}});
    assert.equal(at({powerShare: {value: -0.9}}), null);
    assert.equal(
      claimOnTheRoad({massKg: {value: 1}}, {car: CAR, band: {fromMps: 30, toMps: 20}, elapsedS: {value: 7}}),
      null,
    );
  });

  it("refuses an empty claim and numbers that are none", () => {
    const at = (claim: Claim) => () => claimOnTheRoad(claim, {car: CAR, band: BAND, elapsedS: {value: 7}});
    assert.throws(at({}), /changes nothing/);
    assert.throws(at({powerShare: {value: Number.NaN}}), /powerShare is NaN/);
    assert.throws(at({powerShare: {value: -1}}), /leave nothing/);
    assert.throws(at({massKg: {value: 1, standardUncertainty: -1}}), /standard uncertainty of massKg/);
  });
});
