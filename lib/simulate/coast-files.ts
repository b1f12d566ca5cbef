import type {SimulateDocument} from "../result/documents.ts";
import {printQuantity} from "../units/quantity.ts";
import type {CoastTruth, SimulatedCoastDay, SimulatedCoastRun} from "./coast-day.ts";
import {logCsv} from "./csv.ts";
import {oneDecimal, quoted, SESSION_DIGITS, SESSION_FILE, TRUTH_FILE, truthJson} from "./files.ts";

/** Every file of a day of coastdowns by name: a log a run, the session, the truth. */
export function coastDayFiles(day: SimulatedCoastDay): Map<string, string> {
  const files = new Map(day.runs.map(run => [run.file, logCsv(run)]));
  files.set(SESSION_FILE, coastSessionText(day));
  files.set(TRUTH_FILE, truthText(day));
  return files;
}

/** The session file that an analyst would have written beside the logs; nothing of the truth. */
export function coastSessionText({scenario, seed, runs, truth}: SimulatedCoastDay): string {
  const {band, vehicle, air, road, warmUpS} = scenario;
  const written = (si: number, unit: string) => printQuantity(si, unit, {digits: SESSION_DIGITS});
  const factor = truth.effectiveMassKg / truth.massKg;
  return [
    `# A simulated day of coastdowns: the scenario "${scenario.name}", seed ${seed}. Car and road are invented; ${TRUTH_FILE} tells what is true.`,
    "fairpull: 1",
    "test: coastdown",
    `question: ${quoted(scenario.question)}`,
    `band: {from: ${printQuantity(band.fromMps, band.unit)}, to: ${printQuantity(band.toMps, band.unit)}} # on the ${road.name}`,
    `vehicle: {mass: ${written(vehicle.massKg, "kg")}, rotatingMassFactor: ${Number(factor.toFixed(3))}} # ${vehicle.name}, gear out: only the wheels turn`,
    `air: {temperature: ${written(air.temperatureK, "degC")}, pressure: ${written(air.pressurePa, "hPa")}, humidity: ${air.humidity}}`,
    `warmUp: ${written(warmUpS, "min")}`,
    "runs:",
    ...runs.map(run => `  - ${runText(run)}`),
    "",
  ].join("\n");
}

function runText({file, direction, startClock, airTemperatureK}: SimulatedCoastRun): string {
  const air = `${oneDecimal(airTemperatureK - 273.15)} degC`;
  return `{file: ${file}, direction: ${direction}, at: "${startClock}", conditions: {airTemperature: ${air}}}`;
}

/** The true road load as truth.json and the command have it. */
export function roadLoadRecord({
  roadLoad,
  dragAreaM2,
  rollingCoefficient,
  airDensityKgM3,
}: CoastTruth): NonNullable<SimulateDocument["road_load"]> {
  return {
    f0_n: roadLoad.f0N,
    f1_n_per_mps: roadLoad.f1NPerMps,
    f2_n_per_mps2: roadLoad.f2NPerMps2,
    drag_area_m2: dragAreaM2,
    rolling_coefficient: rollingCoefficient,
    air_density_kg_m3: airDensityKgM3,
  };
}

function truthText({scenario, seed, runs, truth}: SimulatedCoastDay): string {
  return truthJson({
    scenario: scenario.name,
    seed,
    road_load: roadLoadRecord(truth),
    mass_kg: truth.massKg,
    effective_mass_kg: truth.effectiveMassKg,
    runs: runs.map(run => ({
      file: run.file,
      direction: run.direction,
      headwind_mps: run.truth.headwindMps,
    })),
  });
}
