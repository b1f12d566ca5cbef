import type {ArmName} from "../result/session.ts";
import {interpolateAt} from "../series/interpolate.ts";
import type {Random} from "../stats/random.ts";
import {correlatedNoise} from "./noise.ts";
import type {Pull} from "./pull.ts";
import type {DayScenario, SimulatedEngine} from "./scenario.ts";
import {engineSpeedRpm} from "./vehicle.ts";

/** A column of a simulated engine log: header with unit, decimals, one value a row in that unit. */
export interface EngineColumn {
  header: string;
  decimals: number;
  values: Float64Array;
}

/** The log of the engine beside a run's speed log, and what was true. */
export interface SimulatedEngineLog {
  columns: EngineColumn[];
  truth: {
    /** intake air at the start of the pull [K] */
    intakeTemperatureK: number;
    /** spark taken out for knock is that of this intake air: part of what was learned before is still there [K] */
    learnedTemperatureK: number;
    /** time of the engine log minus that of the speed log [s] */
    lagS: number;
  };
}

/** One run as the engine sees it. */
export interface EngineRun {
  arm: ArmName;
  pull: Pull;
  throttleS: number;
  airTemperatureK: number;
  /** pulls' worth of heat that was left at the start */
  heat: number;
  powerFactor: number;
  /** what the control had learned in the run before [K], null in the first run */
  learnedK: number | null;
}

/** Spark taken out at intake air of 308 K [deg], within the stretch where this engine knocks and outside of it. */
const RETARD_WITHIN_DEG = 3.6;
const RETARD_OUTSIDE_DEG = 1.2;
const REFERENCE_INTAKE_K = 308.15;
/** Edges of that stretch are this soft [r/min]. */
const EDGE_RPM = 60;
/** How much each cylinder is off the mean of the four [deg]. */
const CYLINDER_DEG = [0.4, -0.3, 0.1, -0.2];
/** Spread of one reading of one cylinder [deg]. */
const READING_SD_DEG = 0.15;

/** 0 below, 1 within, 0 above the stretch of engine speed where this engine knocks. */
export function knockShare({knock}: SimulatedEngine, rpm: number): number {
  const edge = (at: number) => 1 / (1 + Math.exp(-(rpm - at) / EDGE_RPM));
  return edge(knock.fromRpm) * (1 - edge(knock.toRpm));
}

/** True difference of the mean knock correction, changed − baseline, at an engine speed [deg], pulled spark negative. */
export function trueKnockDifferenceDeg(engine: SimulatedEngine, rpm: number): number {
  return -engine.knock.degPerK * engine.part.intakeK * knockShare(engine, rpm);
}

/**
 * What an engine's own log would hold of a pull: some twenty channels on a clock of its own, temperatures refreshed once in a second and the
 * car's speed five times, held in between. Hot intake air makes the engine knock in a stretch of engine speed, its control takes spark out
 * there, and learns.
 */
export function logEngine(
  {engine, vehicle, band, air}: DayScenario & {engine: SimulatedEngine},
  run: EngineRun,
  random: Random,
): SimulatedEngineLog {
  const {pull, arm, throttleS, heat, airTemperatureK} = run;
  const intakeK =
    airTemperatureK +
    engine.soakK +
    engine.heatK * heat +
    (arm === "changed" ? engine.part.intakeK : 0) +
    engine.intakeSdK * random.normal();
  const learnedTemperatureK =
    run.learnedK === null
      ? intakeK
      : engine.learningKept * run.learnedK + (1 - engine.learningKept) * intakeK;
  const lagS = engine.clockAheadS * random.uniform();
  const last = pull.timeS[pull.timeS.length - 1];
  const stepS = 1 / engine.rateHz;
  const startS = stepS * random.uniform();
  const n = Math.floor((last - startS) / stepS);
  const liftS = pull.timeS[pull.speedMps.indexOf(Math.max(...pull.speedMps))];
  const coolantK = 360 + 0.8 * heat + 0.8 * random.normal();
  const oilK = 366 + 2 * heat + 1.2 * random.normal();
  const battery = 13.9 + 0.06 * random.normal();
  const boost = 1 + 0.006 * random.normal();
  const mixture = 0.88 + 0.004 * random.normal();
  const trim = 1.5 + 0.8 * random.normal();
  const deviation = deviationByRpm(engine, random);
  const columns = COLUMNS.map(
    ([header, decimals]): EngineColumn => ({header, decimals, values: new Float64Array(n)}),
  );
  for (let i = 0; i < n; i++) {
    const atS = startS + i * stepS;
    const speed = interpolateAt(pull.timeS, pull.speedMps, atS)!;
    const rpm = engineSpeedRpm(vehicle, band.gear, speed);
    const isOpen = atS >= throttleS && atS < liftS;
    const open = isOpen ? 1 - Math.exp(-(atS - throttleS) / 0.12) : 0;
    const filled = isOpen
      ? 1 - (1 - vehicle.throttleShare) * Math.exp((throttleS - atS) / vehicle.throttleRiseS)
      : 0;
    const mapKpa = 42 + filled * boost * (118 - 0.002 * (rpm - 3800) ** 2 * 1e-2) + 0.8 * random.normal();
    const refreshed = (perS: number) => startS + (i - (i % Math.round(engine.rateHz / perS))) * stepS;
    const oldSpeed = interpolateAt(pull.timeS, pull.speedMps, refreshed(5))!;
    const cooling = 1.5 * (1 - Math.exp(-Math.max(0, refreshed(1) - throttleS) / 6));
    const retard = Math.max(
      0,
      open *
        (RETARD_OUTSIDE_DEG +
          knockShare(engine, rpm) *
            (RETARD_WITHIN_DEG -
              RETARD_OUTSIDE_DEG +
              engine.knock.degPerK * (learnedTemperatureK - REFERENCE_INTAKE_K)) -
          deviation(rpm)),
    );
    const cylinders = CYLINDER_DEG.map(own =>
      Math.max(0, retard + open * own + READING_SD_DEG * random.normal()),
    );
    const mean = cylinders.reduce((sum, value) => sum + value, 0) / cylinders.length;
    const base = isOpen ? 12 + 0.0024 * (rpm - 2000) : 28;
    const gramsPerS = (0.0000122 * rpm * mapKpa * 308) / intakeK + 0.3 * random.normal();
    const row = [
      atS + lagS,
      rpm + 6 * random.normal(),
      oldSpeed * 3.6 * engine.wheelSpeedScale,
      isOpen ? 100 * Math.min(1, open * 1.02) : 14,
      isOpen ? 99.2 * open + 0.4 * random.normal() : 11,
      mapKpa,
      mapKpa / 1.01,
      Math.max(0, gramsPerS * 10),
      intakeK - cooling - 273.15,
      coolantK - 273.15,
      oilK - 273.15,
      airTemperatureK - 273.15,
      air.pressurePa / 1000,
      base - mean,
      ...cylinders,
      (isOpen ? mixture : 1) + 0.006 * random.normal(),
      isOpen ? 0.88 : 1,
      battery + 0.02 * random.normal(),
      trim + 0.7 * random.normal(),
      isOpen ? 8 + (rpm * mapKpa) / 12_000 + 0.5 * random.normal() : 6,
      band.gear,
    ];
    row.forEach((value, c) => {
      columns[c].values[i] = value;
    });
  }
  return {columns, truth: {intakeTemperatureK: intakeK, learnedTemperatureK, lagS}};
}

/** Headers with their units, and decimals. */
const COLUMNS: readonly (readonly [header: string, decimals: number])[] = [
  ["Time (s)", 2],
  ["Engine speed (r/min)", 0],
  ["Vehicle speed (km/h)", 1],
  ["Accelerator pedal (%)", 0],
  ["Throttle (%)", 1],
  ["Manifold pressure (kPa)", 1],
  ["Engine load (%)", 1],
  ["Air mass flow (g/s)", 1],
  ["Intake air temperature (degC)", 1],
  ["Coolant temperature (degC)", 1],
  ["Oil temperature (degC)", 1],
  ["Ambient temperature (degC)", 1],
  ["Barometric pressure (kPa)", 1],
  ["Ignition advance (deg)", 1],
  ...CYLINDER_DEG.map((_, i) => [`Knock retard cylinder ${i + 1} (deg)`, 1] as const),
  ["Lambda", 3],
  ["Lambda target", 2],
  ["Battery voltage (V)", 2],
  ["Short term fuel trim (%)", 1],
  ["Injector duty (%)", 1],
  ["Gear", 0],
];

/** How much a run's spark is off the others over engine speed: correlated, the same however often it is asked for. */
function deviationByRpm({knock}: SimulatedEngine, random: Random): (rpm: number) => number {
  const STEP_RPM = 100;
  const noise = correlatedNoise(random, knock.sdDeg, knock.correlationRpm, STEP_RPM);
  const values = Array.from({length: 100}, () => noise());
  return rpm => {
    const place = Math.min(98.999, Math.max(0, rpm / STEP_RPM));
    const k = Math.floor(place);
    return values[k] + (place - k) * (values[k + 1] - values[k]);
  };
}

/** An engine log as comma-separated text. */
export function engineCsv({columns}: SimulatedEngineLog): string {
  const rows = Array.from(columns[0].values, (_, i) =>
    columns
      .map(({values, decimals}) => (values[i] + 0).toFixed(decimals).replace(/^-(0(?:\.0*)?)$/, "$1"))
      .join(","),
  );
  return `${[columns.map(({header}) => header).join(","), ...rows].join("\n")}\n`;
}
