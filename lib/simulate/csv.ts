import type {LoggedChannels} from "./logger.ts";
import {LOG_DECIMALS} from "./logger.ts";

/** Header of a simulated log; the unit of each column is part of its name. */
const HEADER = "time [s],speed [km/h],height [m],latitude [deg],longitude [deg],course [deg],satellites,hdop";

/** A run's log as comma-separated text, one line a sample, LF at the end of each. Reads back to the same numbers. */
export function logCsv(log: LoggedChannels): string {
  const {time, speed, height, latitude, longitude, course, hdop} = LOG_DECIMALS;
  let text = `${HEADER}\n`;
  for (let i = 0; i < log.timeS.length; i++) {
    text +=
      `${log.timeS[i].toFixed(time)},${(log.speedMps[i] * 3.6).toFixed(speed)},${log.heightM[i].toFixed(height)},` +
      `${log.latitudeDeg[i].toFixed(latitude)},${log.longitudeDeg[i].toFixed(longitude)},` +
      `${log.courseDeg[i].toFixed(course)},${log.satellites[i]},${log.hdop[i].toFixed(hdop)}\n`;
  }
  return text;
}
