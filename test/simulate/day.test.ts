import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {simulateDay, trueEffect} from "../../lib/simulate/day.ts";
import type {DayScenario} from "../../lib/simulate/scenario.ts";
import {SCENARIOS, scenarioNamed} from "../../lib/simulate/scenarios.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {dealOrder} from "../../lib/trial/plan.ts";
import {assertClose} from "../assert-close.ts";
import {countShown, loggedBandTime} from "./club-day.ts";

const DEMO = scenarioNamed("intake-elbow")!;

/** The scenario with nothing that varies from run to run, and a perfect logger. */
function still(scenario: DayScenario): DayScenario {
  const {variation, logger, wind, driver, clock, road} = scenario;
  return {
    ...scenario,
    road: {...road, waves: []}, // the throttle opens up to a metre later than in the nominal run: on waves another grade
    fuelPerRunM3: 0,
    warmingKPerHour: 0,
    clock: {...clock, jitterMin: 0},
    wind: {...wind, slowSdMps: 0, gustSdMps: 0},
    driver: {...driver, rollInSdMps: 0, placeSdM: 0},
    variation: {...variation, runSd: 0, heatLoss: 0, driftLoss: 0, fittingSd: 0, badShare: 0},
    logger: {...logger, smoothingS: 0, correlatedSdMps: 0, whiteSdMps: 0},
  };
}

describe("simulateDay", () => {
  it("gives the same day for the same seed, and another for another", () => {
    assert.deepEqual(simulateDay(DEMO, 7), simulateDay(DEMO, 7));
    assert.notDeepEqual(simulateDay(DEMO, 7).runs[0].speedMps, simulateDay(DEMO, 8).runs[0].speedMps);
  });

  it("drives the arms in the order that a plan with its seed draws", () => {
    for (const scenario of SCENARIOS) {
      const {runs} = simulateDay(scenario, 5);
      assert.deepEqual(
        runs.map(run => run.arm),
        scenario.identical ? runs.map(() => "baseline") : dealOrder(scenario.plan, createRandom(5, "order")),
      );
      assert.deepEqual(
        runs.map(run => run.order),
        runs.map((_, i) => i + 1),
      );
    }
  });

  it("numbers blocks where the order has them, and turns round where told", () => {
    const blocks = (name: string) => simulateDay(scenarioNamed(name)!, 1).runs.map(run => run.block);
    assert.deepEqual(blocks("abba2"), [1, 1, 1, 1, 2, 2, 2, 2]);
    assert.deepEqual(blocks("pairs6"), [1, 1, 2, 2, 3, 3, 4, 4, 5, 5, 6, 6]);
    assert.ok(blocks("intake-elbow").every(block => block === null));
    const {runs} = simulateDay(scenarioNamed("both-ways")!, 1);
    assert.deepEqual([...new Set(runs.map(run => run.direction))], ["out", "back"]);
  });

  it("has the scenario's true effect in every run when nothing else varies", () => {
    for (const scenario of [DEMO, scenarioNamed("null-day")!].map(still)) {
      const {runs, truth} = simulateDay(scenario, 3);
      for (const run of runs) {
        // The throttle opens at another moment between samples, so the steps fall otherwise: the integration's error.
        assertClose(run.truth.bandTimeS, truth.bandTimeS[run.arm], 1e-5);
        // Straight lines between samples, v'' h²/8 over v' at both ends, and rounding of speed: 0.01 km/h over 2 m/s².
        assertClose(loggedBandTime(run, scenario), run.truth.bandTimeS, 0.004);
      }
      assert.equal(truth.effect.value, truth.bandTimeS.changed - truth.bandTimeS.baseline);
    }
  });

  it("is that of mean wheel power where the session compares power", () => {
    const {effect, bandTimeS} = trueEffect(still(scenarioNamed("ignition-map")!));
    assert.equal(effect.unit, "W");
    // Both arms spend nearly the same time at each speed, so 4 % more power at every speed is 4 % of the mean. By hand: the car has
    // 71 kW at 60 km/h and 97 kW at 110 km/h; mean over time, which slow speeds take less of, 88 kW.
    assertClose(effect.value, 0.04 * 88_000, 150);
    // Energy over time: the kinetic energy of 1361 kg over both times; what the road takes is nearly alike in both.
    const kineticJ = (1361 * (30.556 ** 2 - 16.667 ** 2)) / 2;
    assertClose(effect.value, kineticJ / bandTimeS.changed - kineticJ / bandTimeS.baseline, 60);
  });

  it("answers to mass, drag and power with the sign and size of physics", () => {
    const withPart = (part: Partial<DayScenario["part"]>) =>
      trueEffect({...DEMO, part: {power: 0, massKg: 0, dragAreaM2: 0, ...part}});
    const {bandTimeS} = withPart({});
    // Without road load t ∝ m_eff/P. Power: −1 % of t for +1 %, and more with road load, which takes a tenth to a sixth.
    const power = withPart({power: 0.01}).effect.value / bandTimeS.baseline;
    assert.ok(power < -0.0105 && power > -0.0125, `${power}`);
    // Mass: +10 kg of 1360 kg effective is +0.735 % of t, and rolling resistance adds a little.
    const mass = withPart({massKg: 10}).effect.value / bandTimeS.baseline;
    assert.ok(mass > 0.0073 && mass < 0.0085, `${mass}`);
    assert.ok(withPart({dragAreaM2: -0.02}).effect.value < 0);
  });

  it("is unbiased: the mean difference of many days is the true effect", () => {
    const nDays = 120;
    for (const scenario of [DEMO, scenarioNamed("abba2")!]) {
      const differences = Array.from({length: nDays}, (_, seed) => {
        const {runs} = simulateDay(scenario, seed);
        const mean = (arm: string) => {
          const times = runs.filter(run => run.arm === arm).map(run => loggedBandTime(run, scenario));
          return times.reduce((sum, time) => sum + time, 0) / times.length;
        };
        return mean("changed") - mean("baseline");
      });
      const mean = differences.reduce((sum, value) => sum + value, 0) / nDays;
      const sd = Math.sqrt(differences.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (nDays - 1));
      // Heat takes up to 1 % of the power, and with it 1 % more time: 0.002 s of the demo's effect.
      assertClose(mean, trueEffect(scenario).effect.value, 0.002 + (4 * sd) / Math.sqrt(nDays));
      assert.ok(sd > 0.02 && sd < 0.06, `${sd} s`); // some 0.06 s a run: 0.06 · √(2/n) with n = 6 and 4 an arm
    }
  });

  it("shows a worthwhile difference in at least 80 % of days like the demo's (short form)", () => {
    // The long form in test/calibrate finds 98 % of 2,000 days; the seeds are fixed, so this cannot fail by chance.
    const shown = countShown({nDays: 60, firstSeed: 1});
    assert.ok(shown >= 48, `${shown} of 60`);
  });
});

describe("the scenarios", () => {
  it("have a name, a line and a seed each", () => {
    const names = SCENARIOS.map(scenario => scenario.name);
    assert.equal(new Set(names).size, names.length);
    for (const {name, words} of SCENARIOS) {
      assert.match(name, /^[a-z0-9-]+$/);
      assert.ok(words.length > 20 && words.length < 110, name);
    }
    assert.equal(scenarioNamed("intake-elbow")!.seed, 4711);
    assert.equal(scenarioNamed("intake elbow"), null);
  });
});
