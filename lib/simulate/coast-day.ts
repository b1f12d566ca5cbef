import {airDensityIdealMix} from "../roadload/air-density.ts";
import {type RoadLoadCoefficients, toCoefficients} from "../roadload/coefficients.ts";
import {effectiveMassKg} from "../roadload/effective-mass.ts";
import {createRandom} from "../stats/random.ts";
import {driveCoast} from "./coast.ts";
import type {CoastScenario} from "./coast-scenario.ts";
import {clockText} from "./day.ts";
import {type LoggedChannels, logPull} from "./logger.ts";
import {type Direction, placeM, roadGrade, signOf} from "./road.ts";

/** The car rolls at steady speed so long before the gear goes out [s]. */
const ROLL_IN_S = 3;
/** The log goes on until the car is so far below the band [m/s]. */
const BELOW_BAND_MPS = 0.6;

/** One coastdown of a simulated day: what was logged and written down, and the mean wind that was true. */
export interface SimulatedCoastRun extends LoggedChannels {
  /** place in the order driven, from 1 */
  order: number;
  file: string;
  direction: Direction;
  /** clock at the start of the log, "09:40" */
  startClock: string;
  airTemperatureK: number;
  truth: {
    /** mean wind against the car, without gusts */
    headwindMps: number;
  };
}

/** What is true of the car on a level road in still air, in the air at the start of the day. */
export interface CoastTruth {
  roadLoad: RoadLoadCoefficients;
  dragAreaM2: number;
  rollingCoefficient: number;
  airDensityKgM3: number;
  massKg: number;
  effectiveMassKg: number;
}

/** A day of coastdowns with known truth. */
export interface SimulatedCoastDay {
  scenario: CoastScenario;
  seed: number;
  runs: SimulatedCoastRun[];
  truth: CoastTruth;
}

/**
 * Drives a day of coastdowns: steady speed above the band, gear out, rolling until below it, every other run back. The same
 * scenario and seed give the same day to the last bit; driver, wind and logger draw from streams of their own.
 *
 * @param seed whole number ≥ 0
 * @throws {RangeError} the car does not come down through the band
 */
export function simulateCoastDay(scenario: CoastScenario, seed: number): SimulatedCoastDay {
  const {clock, driver, logger, band, road, wind} = scenario;
  const driving = createRandom(seed, "simulated driver");
  const blowing = createRandom(seed, "simulated wind");
  const logging = createRandom(seed, "simulated logger");
  const truth = coastTruth(scenario);
  const rollIn = Math.round(ROLL_IN_S * logger.rateHz);
  let heightOffsetM = 0;
  const runs = Array.from({length: scenario.runs}, (_, i): SimulatedCoastRun => {
    const direction = i % 2 === 1 ? "back" : "out";
    const sign = signOf(direction);
    const minutes = Math.round(i * clock.betweenMin + clock.jitterMin * (2 * driving.uniform() - 1));
    const startM = driver.placeSdM * driving.normal();
    const fromMps = band.fromMps + driver.aboveBandMps + driver.aboveBandSdMps * driving.normal();
    const airTemperatureK = scenario.air.temperatureK + (scenario.warmingKPerHour * minutes) / 60;
    const alongMps = wind.meanMps + ((wind.trendMpsPerHour ?? 0) * minutes) / 60;
    const headwindMps = sign * alongMps + wind.slowSdMps * blowing.normal();
    const rolledM = (rollIn / logger.rateHz) * fromMps;
    const density = airDensityIdealMix({...scenario.air, temperatureK: airTemperatureK});
    const coast = driveCoast(
      {
        load: {
          ...truth.roadLoad,
          f2NPerMps2: (truth.roadLoad.f2NPerMps2 * density) / truth.airDensityKgM3,
        },
        massKg: truth.massKg,
        effectiveMassKg: truth.effectiveMassKg,
        fromMps,
        toMps: band.toMps - BELOW_BAND_MPS,
        rateHz: logger.rateHz,
        gradeAt: distanceM => sign * roadGrade(road, placeM(road, direction, startM + rolledM + distanceM)),
        headwindMps,
        gustSdMps: wind.gustSdMps,
        gustCorrelationS: wind.gustCorrelationS,
      },
      blowing,
    );
    const n = rollIn + coast.timeS.length;
    const drive = {
      timeS: Float64Array.from({length: n}, (__, k) => k / logger.rateHz),
      speedMps: Float64Array.from({length: n}, (__, k) =>
        k < rollIn ? fromMps : coast.speedMps[k - rollIn],
      ),
      distanceM: Float64Array.from({length: n}, (__, k) =>
        k < rollIn ? (k / logger.rateHz) * fromMps : rolledM + coast.distanceM[k - rollIn],
      ),
    };
    heightOffsetM += logger.heightStepM * logging.normal();
    return {
      order: i + 1,
      file: `coast-${String(i + 1).padStart(2, "0")}.csv`,
      direction,
      startClock: clockText(clock.startS + 60 * minutes),
      airTemperatureK,
      ...logPull(drive, {road, direction, logger, startM, heightOffsetM}, logging),
      truth: {headwindMps},
    };
  });
  return {scenario, seed, runs, truth};
}

function coastTruth({vehicle, air}: CoastScenario): CoastTruth {
  const {massKg, dragAreaM2, rollingCoefficient} = vehicle;
  const airDensityKgM3 = airDensityIdealMix(air);
  const load = {dragAreaM2, rollingCoefficient, rollingPerMps: 0};
  return {
    roadLoad: toCoefficients(load, {massKg, airDensityKgM3}),
    dragAreaM2,
    rollingCoefficient,
    airDensityKgM3,
    massKg,
    // with the gear out only the wheels turn
    effectiveMassKg: effectiveMassKg({
      massKg,
      inertiaKgM2: vehicle.wheelInertiaKgM2,
      rollingRadiusM: vehicle.rollingRadiusM,
    }),
  };
}
