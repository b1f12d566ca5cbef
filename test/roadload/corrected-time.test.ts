import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {bandPowerW, enginePowerW} from "../../lib/roadload/band-power.ts";
import {
  correctionParts,
  levelRoad,
  type RunConditions,
  timeCorrectionS,
} from "../../lib/roadload/corrected-time.ts";
import {STANDARD_GRAVITY_MPS2} from "../../lib/roadload/road-load.ts";
import {smoothPull} from "../../lib/roadload/smooth-pull.ts";
import {windFromDirections} from "../../lib/roadload/wind.ts";
import {assertClose} from "../assert-close.ts";
import {reference} from "../reference.ts";

/** A run at constant wheel power, sampled at 10 Hz, by small Runge–Kutta steps. */
function constantPower(
  {
    massKg,
    powerW,
    f0N,
    f1 = 0,
    f2,
    grade,
    headwindMps = 0,
  }: {
    massKg: number;
    powerW: number;
    f0N: number;
    f1?: number;
    f2: number;
    grade: number;
    headwindMps?: number;
  },
  fromMps: number,
  toMps: number,
) {
  const slopeN = massKg * STANDARD_GRAVITY_MPS2 * Math.sin(Math.atan(grade));
  const a = (v: number) => (powerW / v - f0N - f1 * v - f2 * (v + headwindMps) ** 2 - slopeN) / massKg;
  const [timeS, speedMps]: [number[], number[]] = [[], []];
  let v = fromMps - 2;
  for (let step = 0; v < toMps + 3; step++) {
    if (step % 10 === 0) {
      timeS.push(step / 100);
      speedMps.push(v);
    }
    const k1 = a(v);
    const k2 = a(v + 0.005 * k1);
    const k3 = a(v + 0.005 * k2);
    v += (0.01 / 6) * (k1 + 2 * k2 + 2 * k3 + a(v + 0.01 * k3));
  }
  const cross = (level: number) => {
    const i = speedMps.findIndex(speed => speed >= level);
    return timeS[i - 1] + (0.1 * (level - speedMps[i - 1])) / (speedMps[i] - speedMps[i - 1]);
  };
  const [startS, endS] = [cross(fromMps), cross(toMps)];
  return {
    pull: smoothPull({timeS, speedMps, placeM: timeS.map(() => 0)}, {startS, endS})!,
    elapsedS: endS - startS,
  };
}

// B6-power-roadload: own model equation, computed with mpmath and scipy.
// biome-ignore lint/suspicious/noExplicitAny: rows differ in shape
const {cases} = reference("roadload").row("B6-power-roadload") as any;
const conditions = (entry: {m_kg: number; F0: number; F2: number}, grade = 0): RunConditions => ({
  massKg: entry.m_kg,
  rotatingFactor: 1,
  dragAreaM2: (2 * entry.F2) / 1.2,
  rollingCoefficient: entry.F0 / entry.m_kg / STANDARD_GRAVITY_MPS2,
  airDensityKgM3: 1.2,
  headwindMps: 0,
  gradeAt: () => grade,
});

describe("timeCorrectionS", () => {
  it("brings runs on a slope to the level time of B6-power-roadload within 0.1 %", () => {
    const level = cases[0];
    for (const entry of [cases[3], cases[4]]) {
      const {pull, elapsedS} = constantPower(
        {massKg: entry.m_kg, powerW: entry.P_W, f0N: entry.F0, f2: entry.F2, grade: entry.grade},
        60 / 3.6,
        120 / 3.6,
      );
      assertClose(elapsedS, entry.t_s, {rel: 1e-3});
      const run = conditions(entry, Math.tan(Math.asin(Math.sin(Math.atan(entry.grade)))));
      const corrected = elapsedS + timeCorrectionS(pull, run, {...run, gradeAt: levelRoad})!;
      assertClose(corrected, level.t_s, {rel: 1e-3});
    }
  });
  it("gives the raw time back exactly in reference conditions", () => {
    const entry = cases[0];
    const {pull} = constantPower(
      {massKg: entry.m_kg, powerW: entry.P_W, f0N: entry.F0, f2: entry.F2, grade: 0},
      60 / 3.6,
      120 / 3.6,
    );
    const run = conditions(entry);
    assert.equal(timeCorrectionS(pull, run, run), 0);
    // and errors of drag and rolling alone move nothing there
    const wrong = {...run, dragAreaM2: 2 * run.dragAreaM2, rollingCoefficient: 0.03};
    assert.equal(timeCorrectionS(pull, wrong, wrong), 0);
  });
  it("takes wind and mass out, and says what each was", () => {
    // Two integrations of the same car: with 2 m/s against it and 30 kg more, and without.
    const car = {massKg: 1500, powerW: 100_000, f0N: 150, f2: 0.38, grade: 0};
    const still = constantPower(car, 60 / 3.6, 120 / 3.6);
    const rolling = (150 / 1500) * 1530;
    const windy = constantPower({...car, massKg: 1530, f0N: rolling, headwindMps: 2}, 60 / 3.6, 120 / 3.6);
    const home = conditions({m_kg: 1500, F0: 150, F2: 0.38});
    const parts = correctionParts(windy.pull, {...home, massKg: 1530, headwindMps: 2}, home)!;
    assertClose(windy.elapsedS + parts.total, still.elapsedS, {rel: 1e-3});
    assert.ok(parts.wind < 0 && parts.mass < 0 && parts.grade === 0 && parts.air === 0);
    assertClose(parts.wind + parts.mass, parts.total, {rel: 0.03}); // the rest is their product
  });
  it("is null where the reference leaves nothing to accelerate", () => {
    const entry = cases[0];
    const {pull} = constantPower(
      {massKg: entry.m_kg, powerW: 40_000, f0N: 150, f2: 0.38, grade: -0.05},
      60 / 3.6,
      120 / 3.6,
    );
    const run = conditions(entry, -0.05);
    assert.equal(timeCorrectionS(pull, run, {...run, gradeAt: () => 0.2}), null);
  });
});

describe("bandPowerW", () => {
  it("gives constant power back to 0.1 %, and the trace to 1 % away from the ends", () => {
    for (const entry of cases) {
      const [fromMps, toMps] = [entry.v1_kmh / 3.6, entry.v2_kmh / 3.6];
      if (entry.F1 !== 0) continue; // the drag-and-rolling form has no linear term
      const {pull, elapsedS} = constantPower(
        {massKg: entry.m_kg, powerW: entry.P_W, f0N: entry.F0, f2: entry.F2, grade: entry.grade},
        fromMps,
        toMps,
      );
      const run = conditions(entry, entry.grade);
      // F0 of the row does not follow the slope's cosine; at 1 % that is 5e-5 of it.
      const power = bandPowerW(pull, run, {fromMps, toMps, elapsedS});
      assertClose(power.powerW, entry.P_W, {rel: 1e-3});
      assertClose(power.inertiaW + power.dragW + power.rollingW + power.gradeW, power.powerW, 1e-6);
      for (let i = 8; i < pull.timeS.length - 8; i++) {
        const v = pull.speedMps[i];
        const slopeN = entry.m_kg * STANDARD_GRAVITY_MPS2 * Math.sin(Math.atan(entry.grade));
        assertClose(
          v * (entry.m_kg * pull.accelerationMps2[i] + entry.F0 + entry.F2 * v * v + slopeN),
          entry.P_W,
          {rel: 0.01},
        );
      }
    }
  });
  it("becomes engine power only by a stated efficiency", () => {
    assert.equal(enginePowerW(90_000, {drivelineEfficiency: 0.9}), 100_000);
    assert.throws(() => enginePowerW(90_000, {drivelineEfficiency: 10}), {
      message: /a loss of 10 % is written 0\.9/,
    });
  });
});

describe("windFromDirections", () => {
  const run = (direction: "out" | "back", arm: string, powerW: number, windOutMps: number) => ({
    direction,
    arm,
    conditions: conditions({m_kg: 1500, F0: 150, F2: 0.38}),
    pull: constantPower(
      {
        massKg: 1500,
        powerW,
        f0N: 150,
        f2: 0.38,
        grade: 0,
        headwindMps: direction === "out" ? windOutMps : -windOutMps,
      },
      60 / 3.6,
      110 / 3.6,
    ).pull,
  });
  it("finds the wind and leaves a part's effect alone", () => {
    const day = (["out", "back"] as const).flatMap(direction => [
      run(direction, "baseline", 90_000, 2),
      run(direction, "changed", 94_000, 2),
    ]);
    // The square of the wind is alike in both directions; what is left is the smoothing of the ends, below 1 %.
    assertClose(windFromDirections(day)!.headwindOutMps, 2, 0.03);
  });
  it("cannot be told from one direction, or where each arm kept to one", () => {
    const out = [1, 2, 3].map(() => run("out", "baseline", 90_000, 1));
    assert.equal(windFromDirections(out), null);
    const split = [
      run("out", "baseline", 90_000, 1),
      run("out", "baseline", 90_000, 1),
      run("back", "changed", 94_000, 1),
    ];
    assert.equal(windFromDirections(split), null);
  });
});
