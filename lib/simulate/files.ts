import {parse} from "yaml";
import type {ArmName} from "../result/session.ts";
import {fixedOf, planLock, type SealKey, sealCommitment} from "../trial/seal.ts";
import {printQuantity} from "../units/quantity.ts";
import {logCsv} from "./csv.ts";
import type {SimulatedDay, SimulatedRun} from "./day.ts";
import {engineCsv, trueKnockDifferenceDeg} from "./engine.ts";
import type {DayScenario} from "./scenario.ts";
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
  const {arms, plan, vehicle} = scenario;
  return [
    `# A simulated test day: the scenario "${scenario.name}", seed ${seed}. Car, part and road are invented; ${TRUTH_FILE} tells what is true.`,
    ...questionLines(scenario),
    ...(scenario.identical
      ? [`car: ${quoted(`${vehicle.name} as it is`)}`]
      : [
          `arms: {baseline: ${quoted(arms.baseline)}, changed: ${quoted(arms.changed)}}`,
          `plan: {order: ${plan.order}, runs: ${plan.runs}, seed: ${seed}, looks: 1}`,
        ]),
    ...conditionLines(scenario),
    "runs:",
    ...runs.map(run => `  - ${runText(run, scenario.identical ? null : run.arm)}`),
    "",
  ].join("\n");
}

/** A session whose labels are sealed, and the key that opens them. */
export interface SealedSession {
  text: string;
  key: SealKey;
}

/**
 * The session file of a day with sealed labels: the plan locked, every run by its letter, nothing of which letter has the part.
 *
 * @param salt 64 hexadecimal digits
 */
export function sealedSessionText({scenario, seed, runs}: SimulatedDay, salt: string): SealedSession {
  const {arms, plan} = scenario;
  const letters: SealKey["letters"] = scenario.lettersSwapped
    ? {A: "changed", B: "baseline"}
    : {A: "baseline", B: "changed"};
  const question = [
    ...questionLines(scenario),
    `arms: {baseline: ${quoted(arms.baseline)}, changed: ${quoted(arms.changed)}}`,
  ];
  const fixed = fixedOf(parse(question.join("\n")) as Record<string, unknown>);
  const keys = {order: plan.order, runs: plan.runs, seed, looks: 1, fixed};
  const locked = planLock(fixed, keys);
  const key: SealKey = {format: "fairpull.seal/1", salt, letters, locked};
  const letterOf = (arm: ArmName) => (letters.A === arm ? "A" : "B");
  const text = [
    "# A simulated test day. Car, part and road are invented; which letter has the part is sealed.",
    ...question,
    "plan:",
    ...Object.entries({...keys, locked}).map(([name, value]) => `  ${name}: ${JSON.stringify(value)}`),
    `seal: {commitment: ${quoted(sealCommitment(key))}}`,
    ...conditionLines(scenario),
    "runs:",
    ...runs.map(run => `  - ${runText(run, letterOf(run.arm))}`),
    "",
  ].join("\n");
  return {text, key};
}

function questionLines(scenario: DayScenario): string[] {
  const {engine, identical, question, primary, worthwhileS, worthwhilePercent, band} = scenario;
  return [
    "fairpull: 1",
    `test: ${engine ? "channels" : identical ? "repeatability" : "comparison"}`,
    `question: ${quoted(question)}`,
    ...(engine
      ? [
          "primary: {channel: knock-correction}",
          "axis: engine-speed",
          "engine: {knockSign: pulled positive} # the log writes spark that was taken out as a positive number",
        ]
      : [
          `primary: ${primary ?? "band-time"}`,
          `worthwhile: ${worthwhilePercent === undefined ? written(worthwhileS, "s") : `${worthwhilePercent} %`}`,
        ]),
    `band: {from: ${printQuantity(band.fromMps, band.unit)}, to: ${printQuantity(band.toMps, band.unit)}, gear: ${band.gear}}`,
  ];
}

function conditionLines({band, road, vehicle, air}: DayScenario): string[] {
  const rotatingMassFactor = accelerationMassKg(vehicle, band.gear, vehicle.massKg) / vehicle.massKg;
  return [
    `road: {access: ${road.access}, limit: ${written(road.limitMps, "km/h")}} # ${road.name}`,
    `vehicle: # ${vehicle.name}`,
    `  mass: ${written(vehicle.massKg, "kg")}`,
    `  massUncertainty: ${written(vehicle.massUncertaintyKg, "kg")}`,
    `  dragArea: ${written(vehicle.dragAreaM2, "m2")}`,
    `  rollingCoefficient: ${vehicle.rollingCoefficient}`,
    `  rotatingMassFactor: ${Number(rotatingMassFactor.toFixed(3))}`,
    `air: {temperature: ${written(air.temperatureK, "degC")}, pressure: ${written(air.pressurePa, "hPa")}, humidity: ${air.humidity}}`,
  ];
}

function written(si: number, unit: string): string {
  return printQuantity(si, unit, {digits: SESSION_DIGITS});
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

/** @param label arm or letter of the run, null where there are no arms */
function runText(run: SimulatedRun, label: string | null): string {
  const conditions = Object.entries(writtenConditions(run)).map(([name, value]) => `${name}: ${value}`);
  const keys = [
    `file: ${run.file}`,
    ...(run.engine ? [`engine: ${engineFile(run.file)}`] : []),
    ...(label === null ? [] : [`arm: ${label}`]),
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
