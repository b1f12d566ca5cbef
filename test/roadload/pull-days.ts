import {airDensityIdealMix} from "../../lib/roadload/air-density.ts";
import type {DayInputs, PullRun} from "../../lib/roadload/day-correction.ts";
import {passesThroughBand} from "../../lib/run/passes.ts";
import {type SimulatedDay, simulateDay} from "../../lib/simulate/day.ts";
import type {DayScenario} from "../../lib/simulate/scenario.ts";
import {scenarioNamed} from "../../lib/simulate/scenarios.ts";
import {accelerationMassKg} from "../../lib/simulate/vehicle.ts";

const NULL_DAY = scenarioNamed("null-day")!;

/** Nothing varies but the place where runs start: 6 m, positions good to 2 m, heights as logged, on a road with a crest. */
export const PLACE_ALONE: DayScenario = {
  ...NULL_DAY,
  road: {...NULL_DAY.road, waves: [{amplitudeM: 3, lengthM: 500, crestM: 120}]},
  variation: {...NULL_DAY.variation, runSd: 0, heatLoss: 0, heatIntakeK: 0},
  wind: {...NULL_DAY.wind, slowSdMps: 0, gustSdMps: 0},
  warmingKPerHour: 0,
  fuelPerRunM3: 0,
  driver: {...NULL_DAY.driver, placeSdM: 6, rollInSdMps: 0},
  logger: {...NULL_DAY.logger, positionSdM: 2, whiteSdMps: 0, correlatedSdMps: 0},
};

/** Runs of a simulated day as `correctDay` takes them. */
export function pullRuns({scenario, runs}: SimulatedDay): PullRun[] {
  return runs.map(run => {
    const [{startS, elapsedS, elapsedUS}] = passesThroughBand(run.timeS, run.speedMps, scenario.band);
    return {
      ...run,
      pass: {startS, elapsedS, elapsedUS},
      used: true,
      airDensityKgM3: airDensityIdealMix({...scenario.air, temperatureK: run.conditions.airTemperatureK!}),
      massKg: scenario.vehicle.massKg + 745 * (run.conditions.fuelM3! - scenario.fuelM3),
    };
  });
}

/** What the analyst of such a day knows of the car, with usual uncertainties. */
export function dayInputs({vehicle, band, air}: DayScenario): DayInputs {
  const airDensity = airDensityIdealMix(air);
  return {
    mass: {value: vehicle.massKg, u: vehicle.massUncertaintyKg},
    rotatingFactor: {
      value: accelerationMassKg(vehicle, band.gear, vehicle.massKg) / vehicle.massKg,
      u: 0.006,
    },
    dragArea: {value: vehicle.dragAreaM2, u: 0.05 * vehicle.dragAreaM2},
    rollingCoefficient: {value: vehicle.rollingCoefficient, u: 0.1 * vehicle.rollingCoefficient},
    airDensity: {value: airDensity, u: 0.004 * airDensity},
    statedWind: null,
    gravityMps2: 9.80665,
    fromMps: band.fromMps,
    toMps: band.toMps,
  };
}

export const simulated = (scenario: DayScenario, seed: number): PullRun[] =>
  pullRuns(simulateDay(scenario, seed));
