import type {Random} from "../stats/random.ts";
import {correlatedNoise} from "./noise.ts";
import type {Pull} from "./pull.ts";
import {courseDeg, type Direction, placeM, roadHeightM, roadPosition} from "./road.ts";
import type {SimulatedLogger, SimulatedRoad} from "./scenario.ts";

/** What the logger writes down of a run, rounded to the decimals of its file; n values each. */
export interface LoggedChannels {
  /** since the start of the log */
  timeS: Float64Array;
  speedMps: Float64Array;
  heightM: Float64Array;
  latitudeDeg: Float64Array;
  longitudeDeg: Float64Array;
  courseDeg: Float64Array;
  satellites: Float64Array;
  hdop: Float64Array;
}

/** Decimals of the log's columns, in their units; speed in km/h. */
export const LOG_DECIMALS = {
  time: 3,
  speed: 2,
  height: 1,
  latitude: 7,
  longitude: 7,
  course: 1,
  satellites: 0,
  hdop: 2,
} as const;

/** Course is speed across over speed along: this much noise across [m/s], the white noise of speed being along. */
const ACROSS_SD_MPS = 0.05;
/** Satellites in use: the range here, and the chance of one more or one fewer from sample to sample. */
const FEWEST_SATELLITES = 9;
const MOST_SATELLITES = 16;
const SATELLITE_CHANCE = 0.01;
/** HDOP of a receiver with all and with the fewest satellites: open sky. */
const BEST_HDOP = 0.62;
const HDOP_PER_SATELLITE = 0.05;

/**
 * What a satellite logger makes of a drive: speed smoothed by a first-order lag, then correlated and white noise; height with
 * an offset of the run and slow wandering; positions with slow wandering.
 *
 * @param pull    the truth
 * @param setting road, direction, logger; `startM` = shift of the drive's start along the road, `heightOffsetM` = error of height of this run
 */
export function logPull(
  pull: Pick<Pull, "timeS" | "speedMps" | "distanceM">,
  setting: {
    road: SimulatedRoad;
    direction: Direction;
    logger: SimulatedLogger;
    startM: number;
    heightOffsetM: number;
  },
  random: Random,
): LoggedChannels {
  const {road, direction, logger, startM, heightOffsetM} = setting;
  const n = pull.timeS.length;
  const stepS = 1 / logger.rateHz;
  const smooth = firstOrderLag(pull.speedMps, stepS, logger.smoothingS);
  const speedError = correlatedNoise(random, logger.correlatedSdMps, logger.correlationS, stepS);
  const heightError = correlatedNoise(random, logger.heightSdM, logger.heightCorrelationS, stepS);
  const northError = correlatedNoise(random, logger.positionSdM, logger.positionCorrelationS, stepS);
  const eastError = correlatedNoise(random, logger.positionSdM, logger.positionCorrelationS, stepS);
  const {latitudeDeg, longitudeDeg} = roadPosition(road);
  const course = courseDeg(road, direction);
  let satellites =
    FEWEST_SATELLITES + 2 + Math.floor(random.uniform() * (MOST_SATELLITES - FEWEST_SATELLITES - 3));

  const log: LoggedChannels = {
    timeS: new Float64Array(n),
    speedMps: new Float64Array(n),
    heightM: new Float64Array(n),
    latitudeDeg: new Float64Array(n),
    longitudeDeg: new Float64Array(n),
    courseDeg: new Float64Array(n),
    satellites: new Float64Array(n),
    hdop: new Float64Array(n),
  };
  for (let i = 0; i < n; i++) {
    const place = placeM(road, direction, startM + pull.distanceM[i]);
    const speed = Math.max(0, smooth[i] + speedError() + logger.whiteSdMps * random.normal());
    const turn = (ACROSS_SD_MPS * random.normal()) / Math.max(speed, 1);
    const chance = random.uniform();
    if (chance < SATELLITE_CHANCE) satellites = Math.min(MOST_SATELLITES, satellites + 1);
    else if (chance < 2 * SATELLITE_CHANCE) satellites = Math.max(FEWEST_SATELLITES, satellites - 1);
    log.timeS[i] = rounded(pull.timeS[i], LOG_DECIMALS.time);
    log.speedMps[i] = (rounded(speed * 3.6, LOG_DECIMALS.speed) * 5) / 18; // as the file is read back
    log.heightM[i] = rounded(roadHeightM(road, place) + heightOffsetM + heightError(), LOG_DECIMALS.height);
    log.latitudeDeg[i] = rounded(latitudeDeg(place, northError()), LOG_DECIMALS.latitude);
    log.longitudeDeg[i] = rounded(longitudeDeg(place, eastError()), LOG_DECIMALS.longitude);
    log.courseDeg[i] = rounded((course + (turn * 180) / Math.PI + 360) % 360, LOG_DECIMALS.course);
    log.satellites[i] = satellites;
    log.hdop[i] = rounded(BEST_HDOP + HDOP_PER_SATELLITE * (MOST_SATELLITES - satellites), LOG_DECIMALS.hdop);
  }
  return log;
}

/** First-order lag, exact for a speed that is straight between samples; τ = 0 changes nothing. */
export function firstOrderLag(values: Float64Array, stepS: number, timeConstantS: number): Float64Array {
  if (timeConstantS === 0) return values;
  const keep = Math.exp(-stepS / timeConstantS);
  const out = Float64Array.from(values);
  for (let i = 1; i < values.length; i++) {
    const behind = (timeConstantS * (values[i] - values[i - 1])) / stepS; // how far a steady ramp is behind
    out[i] = values[i] - behind + (out[i - 1] - values[i - 1] + behind) * keep;
  }
  return out;
}

function rounded(value: number, decimals: number): number {
  const scale = 10 ** decimals;
  return Math.round(value * scale) / scale;
}
