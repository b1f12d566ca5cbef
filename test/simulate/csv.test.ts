import assert from "node:assert/strict";
import fc from "fast-check";
import {describe, it} from "vitest";
import {logCsv} from "../../lib/simulate/csv.ts";
import {simulateDay} from "../../lib/simulate/day.ts";
import {LOG_DECIMALS, type LoggedChannels} from "../../lib/simulate/logger.ts";
import {SCENARIOS} from "../../lib/simulate/scenarios.ts";

/** The text by `toFixed`, number by number. */
function slowCsv(log: LoggedChannels): string {
  const {time, speed, height, latitude, longitude, course, satellites, hdop} = LOG_DECIMALS;
  const lines = Array.from(log.timeS, (_, i) =>
    [
      log.timeS[i].toFixed(time),
      (log.speedMps[i] * 3.6).toFixed(speed),
      log.heightM[i].toFixed(height),
      log.latitudeDeg[i].toFixed(latitude),
      log.longitudeDeg[i].toFixed(longitude),
      log.courseDeg[i].toFixed(course),
      log.satellites[i].toFixed(satellites),
      log.hdop[i].toFixed(hdop),
    ].join(","),
  );
  const header =
    "time [s],speed [km/h],height [m],latitude [deg],longitude [deg],course [deg],satellites,hdop";
  return `${[header, ...lines].join("\n")}\n`;
}

describe("logCsv", () => {
  it("writes the digits of toFixed on simulated days", () => {
    for (const scenario of SCENARIOS) {
      for (const run of simulateDay(scenario, 5).runs) assert.equal(logCsv(run), slowCsv(run));
    }
  });
  it("writes the digits of toFixed for any numbers of the decimals of the file", () => {
    const rounded = (least: number, most: number, decimals: number) =>
      fc
        .integer({min: least * 10 ** decimals, max: most * 10 ** decimals})
        .map(digits => digits / 10 ** decimals);
    const sample = fc.record({
      timeS: rounded(0, 1e6, LOG_DECIMALS.time),
      speedMps: rounded(0, 500, LOG_DECIMALS.speed).map(kmh => (kmh * 5) / 18),
      heightM: rounded(-500, 9000, LOG_DECIMALS.height),
      latitudeDeg: rounded(-90, 90, LOG_DECIMALS.latitude),
      longitudeDeg: rounded(-180, 180, LOG_DECIMALS.longitude),
      courseDeg: rounded(0, 360, LOG_DECIMALS.course),
      satellites: fc.integer({min: 0, max: 60}),
      hdop: rounded(0, 99, LOG_DECIMALS.hdop),
    });
    fc.assert(
      fc.property(fc.array(sample, {minLength: 1, maxLength: 20}), samples => {
        const names = Object.keys(samples[0]) as (keyof LoggedChannels)[];
        const log = Object.fromEntries(
          names.map(name => [name, Float64Array.from(samples, one => one[name])]),
        ) as unknown as LoggedChannels;
        assert.equal(logCsv(log), slowCsv(log));
      }),
      {numRuns: 300},
    );
  });
});
