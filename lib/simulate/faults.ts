import {roadLoadN} from "../roadload/road-load.ts";
import type {Random} from "../stats/random.ts";
import {createRandom} from "../stats/random.ts";
import {logCsv} from "./csv.ts";
import type {SimulatedDay, SimulatedRun} from "./day.ts";
import {SESSION_FILE, sessionText} from "./files.ts";
import {retrace} from "./retrace.ts";
import {accelerationMassKg, powerBySpeed} from "./vehicle.ts";

/** What can be made to go wrong on a simulated day. */
export const FAULTS = [
  "late-throttle",
  "lift",
  "other-gear",
  "slip-at-entry",
  "hole",
  "fuel-between-arms",
  "mixed-speed-source",
  "one-changeover",
] as const;
export type FaultName = (typeof FAULTS)[number];

/** Columns that the log has beside those of the satellite receiver. */
export interface EngineColumns {
  throttle: boolean;
  engineSpeed: boolean;
  gear: boolean;
}

/** How a day is written with a fault in it. */
export interface FaultOptions {
  /** null = the day as it is */
  fault: FaultName | null;
  columns: EngineColumns;
  /** draws the run, the place and the size of the fault, and the noise of the engine's columns */
  seed: number;
}

/** The files of a day with a fault, and which runs have it. */
export interface FaultyDay {
  files: Map<string, string>;
  /** numbers of the runs that have the fault, from 1 */
  runs: number[];
}

/** A foot that is late is at this share of a pull's acceleration until then. */
const PART_THROTTLE = 0.2;
/** … which is so long after band entry [s]: from the moment itself to plainly late. */
const LATE_S = {from: 0, to: 0.6};
/** A lift lasts so long [s]: a twitch of the foot to a missed cue. */
const LIFT_S = {from: 0.3, to: 0.8};
/** Wheels spin from a little before entry for so long [s], turn so much too fast, and put this share of the acceleration down. */
const SLIP_S = {from: 0.6, to: 1};
const SLIP_SHARE = {from: 0.08, to: 0.2};
const SLIPPING_PULL = 0.7;
/** Samples are missing for so long [s]. */
const HOLE_S = {from: 0.7, to: 1.5};
const FUEL_M3 = 0.02;
const FUEL_KG_M3 = 745;
/** A wheel's speed reads high by its slip and worn tyre, in whole km/h. */
const WHEEL_SCALE = 1.02;
/** Spread of logged engine speed [r/min], and throttle plate while rolling in. */
const ENGINE_SD_RPM = 12;
const ROLLING_THROTTLE = 0.18;
const LIFTED_THROTTLE = 0.02;

/**
 * Writes the files of a simulated day with one planted fault: the logs of the faulty runs are driven again along their own course
 * (see `retrace`), so that speed, positions and engine agree, with the errors of the logger that they had.
 */
export function faultyDayFiles(day: SimulatedDay, {fault, columns, seed}: FaultOptions): FaultyDay {
  const random = createRandom(seed, "planted fault");
  const faulty = pickRuns(day, fault, random);
  const runs = day.runs.map((run, i) => relabelled(run, i, day, fault));
  const files = new Map<string, string>();
  for (const [i, run] of runs.entries()) {
    files.set(run.file, runText(day, run, faulty.includes(i + 1) ? fault : null, columns, random));
  }
  files.set(SESSION_FILE, sessionText({...day, runs}));
  return {files, runs: faulty};
}

/** One run for what happens to a run; a whole arm for what happens between arms; at random half the runs for a mixed source. */
function pickRuns({runs}: SimulatedDay, fault: FaultName | null, random: Random): number[] {
  if (fault === null || fault === "one-changeover") return [];
  if (fault === "fuel-between-arms") return runs.filter(run => run.arm === "changed").map(run => run.order);
  const one = 1 + Math.floor(random.uniform() * runs.length);
  if (fault !== "mixed-speed-source") return [one];
  return runs
    .filter(run => run.order === one || random.uniform() < 0.5)
    .map(run => run.order)
    .slice(0, runs.length - 1);
}

function relabelled(
  run: SimulatedRun,
  i: number,
  {runs}: SimulatedDay,
  fault: FaultName | null,
): SimulatedRun {
  if (fault === "one-changeover")
    return {...run, arm: i < runs.length / 2 ? "baseline" : "changed", block: null};
  if (fault !== "fuel-between-arms" || run.arm !== "changed") return run;
  return {...run, conditions: {...run.conditions, fuelM3: run.conditions.fuelM3! + FUEL_M3}};
}

/** The log of one run with what happened to it. */
function runText(
  day: SimulatedDay,
  run: SimulatedRun,
  fault: FaultName | null,
  columns: EngineColumns,
  random: Random,
): string {
  const {scenario} = day;
  const {band, vehicle} = scenario;
  const between = ({from, to}: {from: number; to: number}) => from + (to - from) * random.uniform();
  const courses: Record<string, () => Parameters<typeof retrace>[1]> = {
    "late-throttle": () => {
      // at a fifth of the acceleration it takes so much speed to be late by that time
      const aboveMps = between(LATE_S) * PART_THROTTLE * entrySlope(run, band.fromMps);
      return {pullShare: speed => (speed < band.fromMps + aboveMps ? PART_THROTTLE : 1)};
    },
    lift: () => {
      const atMps = band.fromMps + (0.25 + 0.6 * random.uniform()) * (band.toMps - band.fromMps);
      const slowingMps2 = (vehicle.liftDragN + loadN(day, atMps)) / vehicle.massKg;
      return {lift: {atMps, forS: between(LIFT_S), slowingMps2}};
    },
    "other-gear": () => ({pullShare: gearShare(day)}),
    "slip-at-entry": () => {
      const untilMps = band.fromMps + SLIPPING_PULL * between(SLIP_S) * entrySlope(run, band.fromMps);
      return {pullShare: speed => (speed > band.fromMps - 0.5 && speed < untilMps ? SLIPPING_PULL : 1)};
    },
    "fuel-between-arms": () => ({pullShare: () => vehicle.massKg / (vehicle.massKg + FUEL_KG_M3 * FUEL_M3)}),
  };
  const course = fault === null ? undefined : courses[fault]?.();
  const driven = course ? retrace(run, course) : {...retrace(run, {}), log: run};
  const gear = fault === "other-gear" ? otherGear(day) : band.gear;
  const slipUntilMps = band.fromMps + SLIPPING_PULL * 0.6 * entrySlope(run, band.fromMps);
  const slipShare = fault === "slip-at-entry" ? between(SLIP_SHARE) : 0;
  const rpmPerMps = (60 * vehicle.overallRatios[gear - 1]) / (2 * Math.PI * vehicle.rollingRadiusM);
  const hole = fault === "hole" ? holeRows(run, band, between(HOLE_S), random) : null;
  const lines = logCsv(driven.log).trimEnd().split("\n");
  if (fault === "mixed-speed-source") lines[0] = lines[0].replace("speed [km/h]", "vehicle speed [km/h]");
  const text = lines.map((line, row) => {
    if (row === 0) {
      return `${line}${columns.throttle ? ",throttle [%]" : ""}${columns.engineSpeed ? ",engine speed [rpm]" : ""}${columns.gear ? ",gear" : ""}`;
    }
    const i = row - 1;
    const speed = driven.smoothMps[i];
    const slipping = slipShare > 0 && speed > band.fromMps - 0.5 && speed < slipUntilMps ? slipShare : 0;
    const rpm = speed * (1 + slipping) * rpmPerMps + ENGINE_SD_RPM * random.normal();
    const open =
      driven.phase[i] === "pull"
        ? 1
        : driven.phase[i] === "roll-in"
          ? ROLLING_THROTTLE
          : driven.phase[i] === "part"
            ? 0.4
            : LIFTED_THROTTLE;
    const cells = line.split(",");
    if (fault === "mixed-speed-source") cells[1] = Math.round(Number(cells[1]) * WHEEL_SCALE).toFixed(2);
    if (columns.throttle) cells.push((100 * Math.min(1, open + 0.005 * random.normal())).toFixed(1));
    if (columns.engineSpeed) cells.push(rpm.toFixed(0));
    if (columns.gear) cells.push(String(gear));
    return cells.join(",");
  });
  return `${text.filter((_, row) => !(hole && row - 1 >= hole.first && row - 1 < hole.end)).join("\n")}\n`;
}

function holeRows(
  {timeS, speedMps}: SimulatedRun,
  {fromMps, toMps}: {fromMps: number; toMps: number},
  lengthS: number,
  random: Random,
): {first: number; end: number} {
  const atMps = fromMps + (0.1 + 0.6 * random.uniform()) * (toMps - fromMps);
  const first = speedMps.findIndex(speed => speed >= atMps);
  const end = timeS.findIndex(time => time >= timeS[first] + lengthS);
  return {first, end: end < 0 ? timeS.length : end};
}

/** The next gear up where there is one. */
function otherGear({scenario: {vehicle, band}}: SimulatedDay): number {
  return band.gear < vehicle.overallRatios.length ? band.gear + 1 : band.gear - 1;
}

/** Acceleration in the other gear over that in the band's, by speed. */
function gearShare(day: SimulatedDay): (speedMps: number) => number {
  const {vehicle, band} = day.scenario;
  const [own, other] = [band.gear, otherGear(day)].map(gear => ({
    powerW: powerBySpeed(vehicle, gear),
    massKg: accelerationMassKg(vehicle, gear, vehicle.massKg),
  }));
  return speed => {
    const load = loadN(day, speed);
    const of = ({powerW, massKg}: typeof own) => (powerW(speed) / speed - load) / massKg;
    return Math.min(3, Math.max(0.2, of(other) / of(own)));
  };
}

function loadN({scenario: {vehicle}}: SimulatedDay, speedMps: number): number {
  const {massKg, rollingCoefficient, dragAreaM2} = vehicle;
  return roadLoadN(speedMps, {massKg, rollingCoefficient, dragAreaM2, airDensityKgM3: 1.2});
}

/** Mean acceleration in the second after a speed is first reached [m/s²]. */
function entrySlope({timeS, speedMps}: SimulatedRun, fromMps: number): number {
  const first = speedMps.findIndex(speed => speed >= fromMps);
  let end = first;
  while (end + 1 < timeS.length && timeS[end] - timeS[first] < 1) end++;
  return (speedMps[end] - speedMps[first]) / (timeS[end] - timeS[first]);
}
