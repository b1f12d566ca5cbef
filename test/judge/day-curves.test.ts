import assert from "node:assert/strict";
import {mkdtempSync, readFileSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {afterAll, describe, it} from "vitest";
import {powerFigure} from "../../lib/figures/power.ts";
import {roadFigure} from "../../lib/figures/road.ts";
import {correctionOf} from "../../lib/judge/correction.ts";
import {dayRoad} from "../../lib/judge/day-road.ts";
import {powerBudget} from "../../lib/judge/power-budget.ts";
import {powerCurves} from "../../lib/judge/power-curves.ts";
import {loadDay, type TestDay} from "../../lib/run/day.ts";
import {readSession} from "../../lib/run/session.ts";
import {simulateDay} from "../../lib/simulate/day.ts";
import {roadGrade, roadHeightM} from "../../lib/simulate/road.ts";
import {scenarioNamed} from "../../lib/simulate/scenarios.ts";
import {powerBySpeed} from "../../lib/simulate/vehicle.ts";
import {writeDay} from "../../lib/simulate/write.ts";
import {powerBudgetTable} from "../../lib/tables/power-budget-table.ts";
import {powerSensitivityTable} from "../../lib/tables/sensitivity-table.ts";
import {assertClose} from "../assert-close.ts";

const folder = mkdtempSync(join(tmpdir(), "fairpull-curves-"));
afterAll(() => rmSync(folder, {recursive: true, force: true}));

const scenario = scenarioNamed("hilly-road")!;
const simulated = simulateDay(scenario, scenario.seed);
writeDay(simulated, join(folder, "day"));
const sessionFile = join(folder, "day", "session.yaml");
const day = loadDay(readSession(sessionFile));

/** The day with files of it rewritten. */
function dayWith(change: (file: string, text: string) => string): TestDay {
  const other = mkdtempSync(join(folder, "changed-"));
  for (const name of ["session.yaml", ...simulated.runs.map(run => run.file)])
    writeFileSync(join(other, name), change(name, readFileSync(join(folder, "day", name), "utf8")));
  return loadDay(readSession(join(other, "session.yaml")));
}

/** Logs with a column more, computed from the run's file and the speed in km/h of each row. */
const withColumn =
  (header: string, of: (file: string, speedKmh: number) => string) => (file: string, text: string) =>
    file === "session.yaml"
      ? text
      : text
          .trimEnd()
          .split("\n")
          .map((line, i) => `${line},${i === 0 ? header : of(file, Number(line.split(",")[1]))}\n`)
          .join("");

describe("dayRoad", () => {
  const road = dayRoad(day)!;
  /** Place on the simulated road of place 0 of the common track: from the logged positions, whose errors average out over the runs. */
  const start = (() => {
    const metresPerDegree = (6_371_009 * Math.PI) / 180;
    const bearing = (scenario.road.bearingDeg * Math.PI) / 180;
    const narrow = metresPerDegree * Math.cos((scenario.road.latitudeDeg * Math.PI) / 180);
    const offsets = road.runs.map(({placeM}, i) => {
      const {latitudeDeg, longitudeDeg} = simulated.runs[i];
      const along = (row: number) =>
        (latitudeDeg[row] - scenario.road.latitudeDeg) * metresPerDegree * Math.cos(bearing) +
        (longitudeDeg[row] - scenario.road.longitudeDeg) * narrow * Math.sin(bearing);
      return along(0) - placeM[0];
    });
    return offsets.reduce((sum, offset) => sum + offset, 0) / offsets.length;
  })();
  const inPulls = (place: number) => place >= road.pulls!.fromM && place <= road.pulls!.toM;

  it("gives the grade of the road where the pulls ran, within its band", () => {
    let [held, count, square] = [0, 0, 0];
    for (const [k, place] of road.placeM.entries()) {
      if (!inPulls(place)) continue;
      const error = road.grade[k] - roadGrade(scenario.road, start + place);
      square += error ** 2;
      count++;
      if (Math.abs(error) <= road.gradeHalfWidth![k]) held++;
    }
    // twelve runs of 0.3 m of wandering leave some 0.1 % of grade; neighbouring places err alike, so one day may miss a stretch
    assert.ok(Math.sqrt(square / count) < 0.002, String(Math.sqrt(square / count)));
    assert.ok(held / count > 0.8, `${held} of ${count} places`);
  });
  it("gives the height about its mean, and every run's heights on it", () => {
    const truth = road.placeM.map(place => roadHeightM(scenario.road, start + place));
    const mean = truth.reduce((sum, value) => sum + value, 0) / truth.length;
    for (const [k, place] of road.placeM.entries())
      if (inPulls(place)) assertClose(road.heightM[k], truth[k] - mean, 0.25);
    assert.equal(road.runs.length, 12);
    for (const run of road.runs) {
      const off = run.placeM.map(
        (place, i) => run.heightM[i] - (roadHeightM(scenario.road, start + place) - mean),
      );
      assertClose(off.reduce((sum, value) => sum + value, 0) / off.length, 0, 0.4); // 0.3 m of wandering, 0.1 m of profile
    }
  });
  it("says what it cannot tell, and shows it", () => {
    assert.match(
      road.unknown.join("; "),
      /height above sea level .* 5\.\d m apart .*; bends of height shorter than some 100 m/,
    );
    const figure = roadFigure(road)!;
    assert.match(figure.caption, /all 12 runs together.*Not known: height above sea level/);
    assert.match(
      figure.alt,
      /from 6 runs out and 6 back: 4\.\d m between .* grade from −\d\.\d % to \+\d\.\d %, known to ± 0\.\d\d % \(95 %\)/,
    );
    const names = new Set(figure.data.map(({name}) => name));
    assert.deepEqual([...names].slice(0, 2), ["out", "back"]);
  });
  it("grows on the way out, also where the longest run drove back", () => {
    const turned = dayWith((file, text) =>
      file === "session.yaml"
        ? text.replace(/direction: (out|back)/g, (_, way) => `direction: ${way === "out" ? "back" : "out"}`)
        : text,
    );
    const other = dayRoad(turned)!;
    const last = road.placeM.length - 1;
    assertClose(other.grade[last], -road.grade[0], 1e-3);
    assertClose(other.heightM[last], road.heightM[0], 0.25); // the grid ends up to 5 m before the road, at 5 % of grade
  });
  it("is null without heights, and so is its figure", () => {
    const flat = dayWith((file, text) =>
      file === "session.yaml" ? text : text.replace("height [m]", "other"),
    );
    assert.equal(dayRoad(flat), null);
    assert.equal(roadFigure(null), null);
  });
});

describe("powerCurves", () => {
  const curves = powerCurves(day)!;
  const truePowerW = powerBySpeed(scenario.vehicle, scenario.band.gear);
  const factor = (arm: string) => {
    const own = simulated.runs.filter(run => run.arm === arm).map(run => run.truth.powerFactor);
    return own.reduce((sum, value) => sum + value, 0) / own.length;
  };

  it("gives the car's power curve back to 2 %, away from the ends", () => {
    for (const arm of ["baseline", "changed"] as const)
      for (const [k, speed] of curves.at.entries()) {
        if (k < 5 || k >= curves.at.length - 5) continue;
        // gusts of 0.6 m/s and the wandering of speed leave 1 % in the mean of six runs
        assertClose(curves.arms[arm].meanW[k], factor(arm) * truePowerW(speed), {rel: 0.02});
      }
  });
  it("counts runs, and finds the part's share within a band that holds all along", () => {
    const {difference, arms} = curves;
    assert.deepEqual([arms.baseline.runs, arms.changed.runs, curves.runs.length], [6, 6, 12]);
    assert.match(difference!.method, /largest \|t\|/);
    for (const [k, speed] of curves.at.entries()) {
      const expected = (factor("changed") - factor("baseline")) * truePowerW(speed);
      assert.ok(
        Math.abs(difference!.estimateW[k] - expected) <= difference!.halfWidthW[k],
        `at ${speed} m/s`,
      );
    }
    // By hand: the mean of n runs is known to t(n − 1)·s/√n.
    const here = curves.runs.filter(run => run.arm === "changed").map(run => run.powerW[20]);
    const mean = here.reduce((sum, value) => sum + value, 0) / 6;
    const sd = Math.sqrt(here.reduce((sum, value) => sum + (value - mean) ** 2, 0) / 5);
    assertClose(arms.changed.halfWidthW![20], (2.570582 * sd) / Math.sqrt(6), {rel: 1e-6}); // t of 5 at 97.5 %
  });
  it("states its resolution and shows it", () => {
    const {halfWidthS, noiseW, span} = curves.resolution;
    assert.ok(halfWidthS > 0.3 && halfWidthS < 1.6 && noiseW > 0 && noiseW < 3000);
    assertClose(span, (halfWidthS * (110 - 60)) / 3.6 / 5.6, {rel: 0.03}); // 50 km/h in 5.6 s
    const figure = powerFigure(curves, day.session.band)!;
    assert.equal(figure.id, "power-by-speed");
    assert.match(
      figure.caption,
      /smoothed over ± \d\.\d\d s, about ± \d+\.\d km\/h: nothing narrower is seen/,
    );
    assert.match(figure.alt, /baseline mean of 6 runs from \d\d\.\d to \d\d\.\d kW/);
    assert.equal(powerFigure(null, day.session.band), null);
  });
  it("goes by engine speed where it was logged, and leaves a run in another gear out", () => {
    const rpm = (kmh: number, ratio: number) => ((kmh / 3.6 / (2 * Math.PI * 0.301)) * ratio * 60).toFixed(0);
    const engine = dayWith(
      withColumn("engine speed [r/min]", (file, kmh) => rpm(kmh, file === "run-05.csv" ? 4.02 : 5.36)),
    );
    const byEngine = powerCurves(engine, {axis: "engine-speed"})!;
    assert.deepEqual(byEngine.leftOut, [{run: 5, reason: "it was driven in another gear"}]);
    assert.equal(byEngine.runs.length, 11);
    const k = 20;
    const speed = (byEngine.at[k] / 60 / 5.36) * 2 * Math.PI * 0.301;
    assertClose(byEngine.arms.changed.meanW[k], factor("changed") * truePowerW(speed), {rel: 0.02});
    const figure = powerFigure(byEngine, engine.session.band)!;
    assert.equal(figure.id, "power-by-engine-speed");
    assert.match(figure.caption, /Left out: run 5 \(it was driven in another gear\)/);
  });
  it("has no curve by engine speed without one", () => {
    assert.equal(powerCurves(day, {axis: "engine-speed"}), null);
  });
});

describe("powerBudget", () => {
  const budget = powerBudget(day)!;
  const rowOf = (input: string) => budget.rows.find(row => row.input === input)!;
  const baseline = day.runs.flatMap(({run}, i) =>
    run.arm === "baseline" ? [correctionOf(day).runs[i]!.power] : [],
  );
  const mean = (of: (power: (typeof baseline)[number]) => number) =>
    baseline.reduce((sum, power) => sum + of(power), 0) / baseline.length;

  it("moves the level by each input's share", () => {
    // By hand: inertia, rolling and slope go with the mass, 15 of 1280 kg; drag with CdA, 5 %; rolling with Crr, 10 %.
    assertClose(
      budget.meanW,
      mean(power => power.powerW),
      1e-6,
    );
    assertClose(
      rowOf("mass").levelUW,
      (15 / 1280) * mean(({inertiaW, rollingW, gradeW}) => inertiaW + rollingW + gradeW),
      {rel: 1e-9},
    );
    assertClose(rowOf("drag area").levelUW, 0.05 * mean(power => power.dragW), {rel: 1e-9});
    // rolling goes with the cosine of the slope, 0.9992 at 4 %
    assertClose(rowOf("rolling coefficient").levelUW, 0.1 * mean(power => power.rollingW), {rel: 1e-3});
  });
  it("moves the difference by that share of itself only", () => {
    // 3 % of 88 kW is 2.6 kW, and 15 of 1280 kg is 1.2 % of it: 31 W
    assertClose(rowOf("mass").differenceUW, 31, 8);
    for (const input of ["drag area", "rolling coefficient", "air density"])
      assert.ok(rowOf(input).differenceUW < 5, input);
    assert.ok(budget.differenceUW < budget.levelUW / 10);
  });
  it("says what error in one arm alone would erase the difference", () => {
    const [grade, , mass, radius] = budget.sensitivity;
    // By hand: 0.1 % of the weight of 1280 kg, 12.55 N, at the mean speed over time of some 24 m/s
    assertClose(grade.effectW, 12.55 * 24.2, 10);
    assertClose(grade.toErase!, (0.001 * budget.differenceW) / grade.effectW, 1e-9);
    // 10 of 1280 kg of what goes with the mass; 1 % of speed is 2 % of inertia, 3 % of drag, 1 % of rolling and slope
    const changed = day.runs.flatMap(({run}, i) =>
      run.arm === "changed" ? [correctionOf(day).runs[i]!.power] : [],
    );
    const of = (read: (power: (typeof changed)[number]) => number) =>
      changed.reduce((sum, power) => sum + read(power), 0) / changed.length;
    assertClose(
      mass.effectW,
      (10 / 1280) * of(({inertiaW, rollingW, gradeW}) => inertiaW + rollingW + gradeW),
      {rel: 0.005},
    );
    assertClose(
      radius.effectW,
      0.01 * of(({inertiaW, dragW, rollingW, gradeW}) => 2 * inertiaW + 3 * dragW + rollingW + gradeW),
      {rel: 0.02},
    );
    assert.equal(powerSensitivityTable(budget)!.rows.length, 4);
    assert.equal(powerSensitivityTable(null), null);
  });
  it("is shown with all of it last", () => {
    const {rows} = powerBudgetTable(budget)!;
    assert.deepEqual(rows.at(-1), [
      "all together",
      budget.levelUW.toFixed(0),
      budget.differenceUW.toFixed(0),
      "",
    ]);
    assert.equal(powerBudgetTable(null), null);
  });
});
