import type {ArmName, Conditions, OrderName} from "../result/session.ts";
import {airDensityIdealMix} from "../roadload/air-density.ts";
import {roadLoadN} from "../roadload/road-load.ts";
import {createRandom} from "../stats/random.ts";
import {numberFittings} from "../trial/fittings.ts";
import {dealOrder} from "../trial/plan.ts";
import {logEngine, type SimulatedEngineLog} from "./engine.ts";
import {type LoggedChannels, logPull} from "./logger.ts";
import {correlatedNoise} from "./noise.ts";
import {drivePull, type Pull} from "./pull.ts";
import {type Direction, placeM, roadGrade, signOf} from "./road.ts";
import type {DayScenario} from "./scenario.ts";
import {drawPower} from "./variation.ts";
import {accelerationMassKg} from "./vehicle.ts";

/** The throttle opens this long after the log has started [s], and up to one sample later, so that samples fall anywhere. */
const ROLL_IN_S = 2;
/** Density of petrol [kg/m³], middle of the 720–775 of EN 228. */
const FUEL_KG_M3 = 745;

/** One run of a simulated day: what was logged and written down, and what was true. */
export interface SimulatedRun extends LoggedChannels {
  /** place in the order driven, from 1 */
  order: number;
  file: string;
  arm: ArmName;
  direction: Direction;
  /** from 1, or null where the order has no blocks */
  block: number | null;
  fitting: number;
  /** clock at the start of the log, "14:05" */
  startClock: string;
  conditions: Conditions;
  /** null where the scenario has no engine log */
  engine: SimulatedEngineLog | null;
  truth: {
    /** band time and distance without any error of the logger */
    bandTimeS: number;
    bandDistanceM: number;
    /** power over that of the cool baseline car */
    powerFactor: number;
    /** one of the runs that went wrong */
    bad: boolean;
  };
}

/** What is true of a scenario, whatever the day. */
export interface DayTruth {
  /** changed − baseline in what the session compares: band time, or mean wheel power through the band */
  effect: {value: number; unit: "s" | "W"};
  /** the part's relative change of wheel power */
  relativePower: number;
  bandTimeS: Record<ArmName, number>;
}

/** A test day with known truth. */
export interface SimulatedDay {
  scenario: DayScenario;
  seed: number;
  runs: SimulatedRun[];
  truth: DayTruth;
}

/**
 * Drives a whole test day. The same scenario and seed give the same day to the last bit; order, power, driver, wind and
 * logger each draw from a stream of their own, so that changing one leaves the others as they were.
 *
 * @param seed whole number ≥ 0; the order of arms is the one that a plan with this seed draws
 * @throws {RangeError} the order cannot be dealt for this number of runs, or the car does not get through the band
 */
export function simulateDay(scenario: DayScenario, seed: number): SimulatedDay {
  const {plan, clock, driver, logger} = scenario;
  const dealt = dealOrder(plan, createRandom(seed, "order"));
  const arms = dealt.map(arm => armOf(arm, scenario));
  const fittings = numberFittings(arms.map(arm => ({arm, refitted: false})));
  const driving = createRandom(seed, "simulated driver");
  const wind = createRandom(seed, "simulated wind");
  const logging = createRandom(seed, "simulated logger");
  const minutes = arms.map((_, i) =>
    Math.round(i * clock.betweenMin + clock.jitterMin * (2 * driving.uniform() - 1)),
  );
  const powers = drawPower(
    {power: scenario.part.power, variation: scenario.variation},
    {arms, minutes, fittings},
    createRandom(seed, "simulated power"),
  );
  const engineering = createRandom(seed, "simulated engine");
  let learnedK: number | null = null;
  let heightOffsetM = 0;
  const runs = arms.map((arm, i): SimulatedRun => {
    const direction = scenario.directions === "alternate" && i % 2 === 1 ? "back" : "out";
    const {powerFactor, heat, bad} = powers[i];
    const temperatureK = scenario.air.temperatureK + (scenario.warmingKPerHour * minutes[i]) / 60;
    const fuelM3 = scenario.fuelM3 - i * scenario.fuelPerRunM3;
    const startM = driver.placeSdM * driving.normal();
    const gusts = headwind(scenario, {direction, minutes: minutes[i]}, wind);
    const rollInMps = driver.rollInMps + driver.rollInSdMps * driving.normal();
    const throttleS = ROLL_IN_S + driving.uniform() / logger.rateHz;
    const pull = driveRun(scenario, {
      arm,
      direction,
      powerFactor,
      temperatureK,
      fuelM3,
      startM,
      rollInMps,
      throttleS,
      headwindAt: gusts.at,
    });
    const engine = scenario.engine
      ? logEngine(
          {...scenario, engine: scenario.engine},
          {arm, pull, throttleS, airTemperatureK: temperatureK, heat, powerFactor, learnedK},
          engineering,
        )
      : null;
    learnedK = engine?.truth.learnedTemperatureK ?? null;
    heightOffsetM += logger.heightStepM * logging.normal();
    const {bandTimeS, bandDistanceM} = pull;
    return {
      order: i + 1,
      file: `run-${String(i + 1).padStart(2, "0")}.csv`,
      arm,
      direction,
      block: blockOf(plan.order, i),
      fitting: fittings[i],
      startClock: clockText(clock.startS + 60 * minutes[i]),
      conditions: {
        airTemperatureK: temperatureK,
        intakeTemperatureK:
          engine?.truth.intakeTemperatureK ?? temperatureK + scenario.variation.heatIntakeK * (1 + heat),
        coolantK: null,
        fuelM3,
        occupants: scenario.occupants,
        tyrePressurePa: null,
        windMps: gusts.meanMps(),
      },
      engine,
      ...logPull(pull, {road: scenario.road, direction, logger, startM, heightOffsetM}, logging),
      truth: {bandTimeS, bandDistanceM, powerFactor, bad},
    };
  });
  return {scenario, seed, runs, truth: trueEffect(scenario)};
}

/**
 * The true effect of a scenario's part: band time with it minus without, at the conditions of the start of the day, in the
 * mean wind, with a cool engine and nothing varying; the mean of both directions where both are driven. Where the session
 * compares corrected times or power it is that on a level road in still air.
 */
export function trueEffect(scenario: DayScenario): DayTruth {
  const known = KNOWN_TRUTH.get(scenario);
  if (known) return known;
  const truth = driveTruth(scenario);
  KNOWN_TRUTH.set(scenario, truth);
  return truth;
}

/** It is the same for every day of a scenario, and driving for it takes a fifth of the time of a day. */
const KNOWN_TRUTH = new WeakMap<DayScenario, DayTruth>();

function driveTruth(driven: DayScenario): DayTruth {
  const scenario =
    (driven.primary ?? "band-time") === "band-time"
      ? driven
      : {...driven, road: {...driven.road, grade: 0, waves: []}, wind: {...driven.wind, meanMps: 0}};
  const directions: Direction[] = scenario.directions === "alternate" ? ["out", "back"] : ["out"];
  const nominal = (arm: ArmName) => {
    const pulls = directions.map(direction => {
      const headwindMps = signOf(direction) * scenario.wind.meanMps;
      return driveRun(scenario, {
        arm,
        direction,
        powerFactor: arm === "changed" ? 1 + scenario.part.power : 1,
        temperatureK: scenario.air.temperatureK,
        fuelM3: scenario.fuelM3,
        startM: 0,
        rollInMps: scenario.driver.rollInMps,
        throttleS: ROLL_IN_S,
        headwindAt: () => headwindMps,
      });
    });
    const mean = (of: (pull: Pull) => number) =>
      pulls.reduce((sum, pull) => sum + of(pull), 0) / pulls.length;
    return {timeS: mean(pull => pull.bandTimeS), powerW: mean(pull => levelPowerW(scenario, arm, pull))};
  };
  const [baseline, changed] = [nominal("baseline"), nominal("changed")];
  return {
    effect:
      scenario.primary === "band-power"
        ? {value: changed.powerW - baseline.powerW, unit: "W"}
        : {value: changed.timeS - baseline.timeS, unit: "s"},
    relativePower: scenario.part.power,
    bandTimeS: {baseline: baseline.timeS, changed: changed.timeS},
  };
}

/** Mean wheel power of a pull through the band on a level road in still air, by energy balance [W]. */
function levelPowerW({vehicle, band, air, part}: DayScenario, arm: ArmName, pull: Pull): number {
  const changed = arm === "changed" ? 1 : 0;
  const massKg = vehicle.massKg + changed * part.massKg;
  const load = {
    massKg,
    rollingCoefficient: vehicle.rollingCoefficient,
    dragAreaM2: vehicle.dragAreaM2 + changed * part.dragAreaM2,
    airDensityKgM3: airDensityIdealMix(air),
    headwindMps: 0,
    grade: 0,
  };
  const kineticJ =
    (accelerationMassKg(vehicle, band.gear, massKg) * (band.toMps ** 2 - band.fromMps ** 2)) / 2;
  const powerAt = (speedMps: number) => speedMps * roadLoadN(speedMps, load);
  const endS = pull.bandStartS + pull.bandTimeS;
  let [loadJ, atS, power] = [0, pull.bandStartS, powerAt(band.fromMps)];
  const upTo = (timeS: number, speedMps: number) => {
    const next = powerAt(speedMps);
    loadJ += ((power + next) / 2) * (timeS - atS);
    [atS, power] = [timeS, next];
  };
  for (const [i, timeS] of pull.timeS.entries())
    if (timeS > pull.bandStartS && timeS < endS) upTo(timeS, pull.speedMps[i]);
  upTo(endS, band.toMps);
  return (kineticJ + loadJ) / pull.bandTimeS;
}

/** The conditions of one pull. */
interface RunSetting {
  arm: ArmName;
  direction: Direction;
  powerFactor: number;
  temperatureK: number;
  fuelM3: number;
  startM: number;
  rollInMps: number;
  throttleS: number;
  headwindAt(sample: number): number;
}

function driveRun(scenario: DayScenario, run: RunSetting): Pull {
  const {vehicle, band, road, air, part, logger} = scenario;
  const changed = run.arm === "changed" ? 1 : 0;
  const sign = signOf(run.direction);
  return drivePull({
    vehicle,
    band,
    massKg: vehicle.massKg + changed * part.massKg + FUEL_KG_M3 * (run.fuelM3 - scenario.fuelM3),
    dragAreaM2: vehicle.dragAreaM2 + changed * part.dragAreaM2,
    airDensityKgM3: airDensityIdealMix({...air, temperatureK: run.temperatureK}),
    powerFactor: run.powerFactor,
    rollInMps: run.rollInMps,
    throttleS: run.throttleS,
    rateHz: logger.rateHz,
    gradeAt: distanceM => sign * roadGrade(road, placeM(road, run.direction, run.startM + distanceM)),
    headwindAt: run.headwindAt,
  });
}

/** The wind of one run, sample by sample, and what the mean of it was so far. */
function headwind(
  scenario: DayScenario,
  {direction, minutes}: {direction: Direction; minutes: number},
  random: ReturnType<typeof createRandom>,
) {
  const {meanMps, trendMpsPerHour = 0, slowSdMps, gustSdMps, gustCorrelationS} = scenario.wind;
  const alongMps = meanMps + (trendMpsPerHour * minutes) / 60;
  const runMps = signOf(direction) * alongMps + slowSdMps * random.normal();
  const gust = correlatedNoise(random, gustSdMps, gustCorrelationS, 1 / scenario.logger.rateHz);
  let sum = 0;
  let count = 0;
  return {
    at: (): number => {
      const value = runMps + gust();
      sum += value;
      count++;
      return value;
    },
    meanMps: (): number => sum / count,
  };
}

function armOf(dealt: ArmName, {identical, lettersSwapped}: DayScenario): ArmName {
  if (identical) return "baseline";
  return (dealt === "changed") === Boolean(lettersSwapped) ? "baseline" : "changed";
}

function blockOf(order: OrderName, place: number): number | null {
  const size = order === "pairs" ? 2 : order === "abba" || order === "blocks-of-4" ? 4 : null;
  return size === null ? null : Math.floor(place / size) + 1;
}

/** "14:05" for seconds since midnight, on whole minutes. */
export function clockText(seconds: number): string {
  const minutes = Math.round(seconds / 60) % (24 * 60);
  const two = (value: number) => String(value).padStart(2, "0");
  return `${two(Math.floor(minutes / 60))}:${two(minutes % 60)}`;
}
