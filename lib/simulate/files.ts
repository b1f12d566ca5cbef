import {printQuantity} from "../units/quantity.ts";
import {logCsv} from "./csv.ts";
import type {SimulatedDay, SimulatedRun} from "./day.ts";
import {engineCsv, trueKnockDifferenceDeg} from "./engine.ts";
import {accelerationMassKg} from "./vehicle.ts";

/** The file that tells the truth; kept out of the session so that a day can be judged without it. */
export const TRUTH_FILE = "truth.json";
export const SESSION_FILE = "session.yaml";

/** Digits of the quantities in a session file: what an analyst would write down. */
export const SESSION_DIGITS = 4;
/** Digits of the numbers in truth.json. */
const TRUTH_DIGITS = 12;

/** Every file of a simulated day by name: a log a run, the session, the truth. */
export function dayFiles(day: SimulatedDay): Map<string, string> {
  const files = new Map(day.runs.map(run => [run.file, logCsv(run)]));
  for (const {file, engine} of day.runs) if (engine) files.set(engineFile(file), engineCsv(engine));
  files.set(SESSION_FILE, sessionText(day));
  files.set(TRUTH_FILE, truthText(day));
  return files;
}

function engineFile(file: string): string {
  return file.replace(".csv", "-engine.csv");
}

/** The session file that an analyst would have written beside the logs: plan, car, air, runs; nothing of the truth. */
export function sessionText({scenario, seed, runs}: SimulatedDay): string {
  const {band, plan, road, vehicle, air, arms} = scenario;
  const written = (si: number, unit: string) => printQuantity(si, unit, {digits: SESSION_DIGITS});
  const rotatingMassFactor = accelerationMassKg(vehicle, band.gear, vehicle.massKg) / vehicle.massKg;
  return [
    `# A simulated test day: the scenario "${scenario.name}", seed ${seed}. Car, part and road are invented; ${TRUTH_FILE} tells what is true.`,
    "fairpull: 1",
    `test: ${scenario.engine ? "channels" : scenario.identical ? "repeatability" : "comparison"}`,
    `question: ${quoted(scenario.question)}`,
    ...(scenario.engine
      ? [
          "primary: {channel: knock-correction}",
          "axis: engine-speed",
          "engine: {knockSign: pulled positive} # the log writes spark that was taken out as a positive number",
        ]
      : [
          `primary: ${scenario.primary ?? "band-time"}`,
          `worthwhile: ${scenario.worthwhilePercent === undefined ? written(scenario.worthwhileS, "s") : `${scenario.worthwhilePercent} %`}`,
        ]),
    `band: {from: ${printQuantity(band.fromMps, band.unit)}, to: ${printQuantity(band.toMps, band.unit)}, gear: ${band.gear}}`,
    ...(scenario.identical
      ? [`car: ${quoted(`${vehicle.name} as it is`)}`]
      : [
          `arms: {baseline: ${quoted(arms.baseline)}, changed: ${quoted(arms.changed)}}`,
          `plan: {order: ${plan.order}, runs: ${plan.runs}, seed: ${seed}, looks: 1}`,
        ]),
    `road: {access: ${road.access}, limit: ${written(road.limitMps, "km/h")}} # ${road.name}`,
    `vehicle: # ${vehicle.name}`,
    `  mass: ${written(vehicle.massKg, "kg")}`,
    `  massUncertainty: ${written(vehicle.massUncertaintyKg, "kg")}`,
    `  dragArea: ${written(vehicle.dragAreaM2, "m2")}`,
    `  rollingCoefficient: ${vehicle.rollingCoefficient}`,
    `  rotatingMassFactor: ${Number(rotatingMassFactor.toFixed(3))}`,
    `air: {temperature: ${written(air.temperatureK, "degC")}, pressure: ${written(air.pressurePa, "hPa")}, humidity: ${air.humidity}}`,
    "runs:",
    ...runs.map(run => `  - ${runText(run, scenario.identical ?? false)}`),
    "",
  ].join("\n");
}

/** The conditions of a run as they are written down. */
export function writtenConditions({conditions}: SimulatedRun) {
  const {airTemperatureK, intakeTemperatureK, fuelM3, occupants, windMps} = conditions;
  return {
    airTemperature: `${oneDecimal(airTemperatureK! - 273.15)} degC`,
    intakeTemperature: `${oneDecimal(intakeTemperatureK! - 273.15)} degC`,
    fuel: `${oneDecimal(fuelM3! * 1000)} l`,
    occupants: occupants!,
    wind: `${oneDecimal(windMps!)} m/s`,
  };
}

function runText(run: SimulatedRun, identical: boolean): string {
  const conditions = Object.entries(writtenConditions(run)).map(([name, value]) => `${name}: ${value}`);
  const keys = [
    `file: ${run.file}`,
    ...(run.engine ? [`engine: ${engineFile(run.file)}`] : []),
    ...(identical ? [] : [`arm: ${run.arm}`]),
    ...(run.block === null ? [] : [`block: ${run.block}`]),
    `direction: ${run.direction}`,
    `at: "${run.startClock}"`,
    `conditions: {${conditions.join(", ")}}`,
  ];
  return `{${keys.join(", ")}}`;
}

/** What is true of the day and of each run, as JSON. */
function truthText({scenario, seed, runs, truth}: SimulatedDay): string {
  const document = {
    scenario: scenario.name,
    seed,
    effect: truth.effect,
    relative_power: truth.relativePower,
    band_time_s: truth.bandTimeS,
    ...(scenario.engine && {
      knock_correction: [2000, 2500, 3000, 3500, 4000, 4500, 5000].map(rpm => ({
        engine_speed_rpm: rpm,
        difference_deg: trueKnockDifferenceDeg(scenario.engine!, rpm),
      })),
      intake_temperature_difference_k: scenario.engine.part.intakeK,
    }),
    runs: runs.map(run => ({
      file: run.file,
      arm: run.arm,
      band_time_s: run.truth.bandTimeS,
      band_distance_m: run.truth.bandDistanceM,
      power_factor: run.truth.powerFactor,
      bad: run.truth.bad,
      ...(run.engine && {
        intake_temperature_k: run.engine.truth.intakeTemperatureK,
        learned_temperature_k: run.engine.truth.learnedTemperatureK,
        engine_log_lag_s: run.engine.truth.lagS,
      }),
    })),
  };
  return truthJson(document);
}

/** A document as it stands in truth.json. */
export function truthJson(document: object): string {
  const short = (_key: string, value: unknown) =>
    typeof value === "number" ? Number(value.toPrecision(TRUTH_DIGITS)) : value;
  return `${JSON.stringify(document, short, 2)}\n`;
}

/** A JSON string is a YAML string too, whatever is in it. */
export function quoted(text: string): string {
  return JSON.stringify(text);
}

/** With one digit after the point, and no "-0.0". */
export function oneDecimal(value: number): string {
  return (Math.round(value * 10) / 10 + 0).toFixed(1);
}
