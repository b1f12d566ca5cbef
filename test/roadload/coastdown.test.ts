import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {coastFaults} from "../../lib/roadload/coast-faults.ts";
import {coastSpeeds} from "../../lib/roadload/coast-model.ts";
import {fitCoastdown} from "../../lib/roadload/coastdown.ts";
import {levelForceN} from "../../lib/roadload/coefficients.ts";
import {atReference} from "../../lib/roadload/reference-conditions.ts";
import {toSI} from "../../lib/units/unit.ts";
import {assertClose} from "../assert-close.ts";
import {reference} from "../reference.ts";
import {assertShareWithin} from "../stats/reference.ts";
import {type CoastSet, coastSet} from "./coast-sets.ts";

const CAR: CoastSet = {
  load: {f0N: 150, f1NPerMps: 0, f2NPerMps2: 0.38},
  massKg: 1400,
  effectiveMassKg: 1442,
};
const STILL = {windMps: 0, windSdMps: 0, gustSdMps: 0, grade: 0, whiteSdMps: 0};

describe("coastSpeeds", () => {
  it("meets the closed form of B6-coastdown", () => {
    // v(t) = √(F0/F2) tan(atan(v0 √(F2/F0)) − t √(F0 F2)/m); the row prints ten digits after the point of m/s.
    // biome-ignore lint/suspicious/noExplicitAny: rows differ in shape
    const {cases} = reference("roadload").row("B6-coastdown") as any;
    for (const {m_kg, F0, F2, v0_kmh, v_ms_at} of cases) {
      const times = Object.keys(v_ms_at)
        .map(Number)
        .sort((a, b) => a - b);
      const speeds = coastSpeeds(
        times,
        v0_kmh / 3.6,
        {f0N: F0, f1NPerMps: 0, f2NPerMps2: F2},
        {massKg: m_kg, effectiveMassKg: m_kg},
      )!;
      // The docstring's word: below 1e-7 m/s.
      for (const [i, time] of times.entries())
        assertClose(speeds[i], v_ms_at[String(time)], 1e-7, `${time} s`);
    }
  });
  it("is null where the car stops before the end", () => {
    assert.equal(coastSpeeds([0, 400], 20, CAR.load, {massKg: 1400, effectiveMassKg: 1442}), null);
  });
});

describe("fitCoastdown", () => {
  it("gives back the terms of runs without noise, in wind and on a slope", () => {
    for (const terms of [2, 3] as const) {
      const load = {...CAR.load, f1NPerMps: terms === 3 ? 1.2 : 0};
      const runs = coastSet({...CAR, ...STILL, load, windMps: 2, grade: 0.004}, 1);
      const fit = fitCoastdown(runs, {...CAR, terms})!;
      // The simulation's own step leaves some 1e-8 m/s; the common fit reads every fifth sample or so.
      assertClose(fit.load.f0N, 150, 1e-3);
      assertClose(fit.load.f1NPerMps, load.f1NPerMps, 1e-4);
      assertClose(fit.load.f2NPerMps2, 0.38, 1e-6);
      assertClose(fit.headwindOut!.estimate, 2, 1e-4);
      assertClose(fit.gradeOut!.estimate, 0.004, 1e-7);
    }
  });
  it("takes out a known road profile", () => {
    // The same fall of speed on a road with a dip, driven out, told as a profile; two runs back on it mirrored.
    const gradeAt = (distanceM: number) => 0.01 * Math.sin(distanceM / 150);
    const times = Float64Array.from({length: 700}, (_, i) => i / 10);
    const setting = {massKg: 1400, effectiveMassKg: 1442, gradeAt};
    const speedMps = coastSpeeds(times, 33, CAR.load, setting)!;
    const run = {timeS: times, speedMps, direction: null, gradeAt};
    const fit = fitCoastdown([run, run], {massKg: 1400, effectiveMassKg: 1442})!;
    assertClose(fit.load.f0N, 150, 1e-4);
    assertClose(fit.load.f2NPerMps2, 0.38, 1e-7);
    assert.match(fit.warnings.join(), /only one direction was driven/);
    assert.equal(fit.headwindOut, null);
  });
  it("covers F0, F2 and the force at 80 km/h as often as it claims", {timeout: 60_000}, () => {
    // 30 days of 6 runs at 5 Hz with gusts of 0.8 m/s and 0.6 m/s of wind from run to run; the long form is in test/calibrate.
    const days = 30;
    const truth = levelForceN(CAR.load, 80 / 3.6);
    const held = {f0: 0, f2: 0, force: 0};
    const off: number[] = [];
    for (let seed = 1; seed <= days; seed++) {
      const fit = fitCoastdown(coastSet(CAR, seed), {...CAR, forceAtMps: [80 / 3.6]})!;
      const [{forceN}] = fit.forces;
      const covers = (value: number, {low, high} = fit.f0N.interval!) =>
        Number(low <= value && value <= high);
      held.f0 += covers(150);
      held.f2 += covers(0.38, fit.f2NPerMps2.interval!);
      held.force += covers(truth, forceN.interval!);
      off.push(Math.abs(forceN.estimate / truth - 1));
      assert.deepEqual(fit.warnings, []);
    }
    for (const count of Object.values(held)) assertShareWithin(count, days, 0.925, 0.975);
    off.sort((a, b) => a - b);
    assert.ok(off[days / 2] <= 0.015, `median error of the force at 80 km/h: ${off[days / 2]}`);
  });
  it("recovers twelve cars from US certification data with logger noise", {timeout: 60_000}, () => {
    // B7-epa-cars; three terms, B may be negative. Each interval holds its truth with 95 %: of 36, four binomial errors.
    // biome-ignore lint/suspicious/noExplicitAny: rows differ in shape
    const {cases} = reference("roadload-cars").row("B7-epa-cars") as any;
    let held = 0;
    for (const [i, car] of cases.entries()) {
      const load = {f0N: car.F0_N, f1NPerMps: car.F1_N_per_ms, f2NPerMps2: car.F2_N_per_ms2};
      const massKg = toSI(car.etw_lb, "lb");
      const set = {load, massKg, effectiveMassKg: 1.03 * massKg, windSdMps: 0.4, gustSdMps: 0.5};
      const fit = fitCoastdown(coastSet(set, 100 + i), {...set, terms: 3})!;
      for (const [estimate, truth] of [
        [fit.f0N, load.f0N],
        [fit.f1NPerMps!, load.f1NPerMps],
        [fit.f2NPerMps2, load.f2NPerMps2],
      ] as const)
        if (estimate.interval!.low <= truth && truth <= estimate.interval!.high) held++;
    }
    assertShareWithin(held, 3 * cases.length, 0.925, 0.975);
  });
  it("warns where the speed range cannot tell F0 from F2, and where too few runs tell the spread", () => {
    const narrow = coastSet({...CAR, fromMps: 110 / 3.6, toMps: 80 / 3.6}, 1);
    assert.match(
      fitCoastdown(narrow, CAR)!.warnings.join(),
      /F0 and F2 cannot be told apart from this speed range/,
    );
    const few = fitCoastdown(coastSet({...CAR, runs: 4}, 1), CAR)!;
    assert.equal(few.f0N.interval, null);
    assert.match(few.warnings.join(), /2 degrees of freedom are too few/);
  });
  it("names a negative drag", () => {
    const odd = coastSet(
      {...CAR, ...STILL, load: {f0N: 600, f1NPerMps: 0, f2NPerMps2: -0.1}, fromMps: 33},
      1,
    );
    assert.match(
      fitCoastdown(odd, CAR)!.warnings.join(),
      /negative drag \(F2 −0\.100 N\/\(m\/s\)²\), which no car has/,
    );
  });
  it("refuses a single run and one without samples", () => {
    const [run] = coastSet(CAR, 1);
    assert.throws(() => fitCoastdown([run], CAR), {
      name: "RangeError",
      message: /at least 2 runs are needed, found 1/,
    });
    const short = {...run, timeS: run.timeS.slice(0, 3), speedMps: run.speedMps.slice(0, 3)};
    assert.throws(() => fitCoastdown([run, short], CAR), {message: /run 2 has 3 samples/});
  });
});

describe("coastFaults", () => {
  const faultsOf = (runs: ReturnType<typeof coastSet>) =>
    coastFaults(runs, fitCoastdown(runs, CAR)?.runs ?? null, CAR);

  it("finds nothing in coastdowns", () => {
    for (let seed = 1; seed <= 5; seed++)
      assert.deepEqual(faultsOf(coastSet(CAR, seed)), [null, null, null, null, null, null]);
  });
  it("names a brake, a push, a gear left in", () => {
    const runs = coastSet(CAR, 1);
    const withSpeed = (change: (time: number, speed: number) => number) =>
      runs.map((run, i) =>
        i === 2 ? {...run, speedMps: run.speedMps.map((speed, k) => change(run.timeS[k], speed))} : run,
      );
    assert.match(
      faultsOf(withSpeed((time, speed) => (time > 30 ? speed - Math.min(6, 2 * (time - 30)) : speed)))[2]!,
      /a brake/,
    );
    assert.match(
      faultsOf(withSpeed((time, speed) => (time > 40 ? speed + 0.5 * Math.min(6, time - 40) : speed)))[2]!,
      /speeds up/,
    );
    const dragging = coastSet({...CAR, load: {...CAR.load, f0N: 300}}, 2);
    const mixed = runs.map((run, i) => (i === 2 ? dragging[2] : run));
    assert.match(
      faultsOf(mixed)[2]!,
      /% above that of the other runs out: a brake that drags or a gear left in/,
    );
    const geared = coastSet({...CAR, load: {...CAR.load, f0N: 600}}, 2);
    assert.match(faultsOf(geared)[0]!, /of the weight, more than tyres hold/);
  });
});

describe("atReference", () => {
  it("brings rolling to 20 °C and drag to the reference air", () => {
    // By hand: 10 K colder, 1 − 0.086 = 0.914; drag by 1.189/1.25.
    const load = atReference(
      {f0N: 100, f1NPerMps: 1, f2NPerMps2: 0.4},
      {temperatureK: 283.15, airDensityKgM3: 1.25},
    );
    assertClose(load.f0N, 91.4, 1e-9);
    assertClose(load.f1NPerMps, 0.914, 1e-12);
    assertClose(load.f2NPerMps2, (0.4 * 1.189) / 1.25, 1e-12);
    assert.throws(() => atReference(load, {temperatureK: 20, airDensityKgM3: 1.2}), {
      message: /20 °C is 293\.15 K/,
    });
  });
});
