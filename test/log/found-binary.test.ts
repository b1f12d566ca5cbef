import assert from "node:assert/strict";
import {parquetWriteBuffer} from "hyparquet-writer";
import {describe, it} from "vitest";
import {requireChannel} from "../../lib/log/channel.ts";
import {readLogBytes} from "../../lib/log/read.ts";
import type {Log} from "../../lib/result/log.ts";
import {passesOfLog} from "../../lib/run/passes.ts";
import {assertClose} from "../assert-close.ts";
import {FALL_S, moments, RISE_S, START_S} from "./found-recordings.ts";
import {writeMdf} from "./mdf-writer.ts";

const BAND = {fromMps: 60 / 3.6, toMps: 100 / 3.6, unit: "km/h", gear: null};

function assertDrive(log: Log, names: string[]): void {
  assert.equal(log.timeS.length, 281);
  for (const name of names) requireChannel(log, name);
  const [rise, ...others] = passesOfLog(log, BAND);
  assert.equal(others.length, 0);
  assertClose(rise.elapsedS, RISE_S, 0.001, "60 to 100 km/h");
  const [fall] = passesOfLog(log, {...BAND, fromMps: BAND.toMps, toMps: BAND.fromMps});
  assertClose(fall.elapsedS, FALL_S, 0.001, "100 to 60 km/h");
}

describe("a binary recording as it is found, read without any option", () => {
  const drive = moments();
  it("Parquet with timestamps and bracketed units", () => {
    const column = (name: string, data: number[]) => ({name, data, type: "DOUBLE" as const});
    const bytes = parquetWriteBuffer({
      columnData: [
        {name: "timestamp", data: drive.map(({t}) => new Date(1000 * (START_S + t))), type: "TIMESTAMP"},
        column(
          "GNSS speed [km/h]",
          drive.map(({kmh}) => kmh),
        ),
        column(
          "Vehicle speed [km/h]",
          drive.map(({kmh}) => Math.round(kmh * 1.02)),
        ),
        column(
          "Coolant temperature [°C]",
          drive.map(() => 90),
        ),
      ],
    });
    const log = readLogBytes(new Uint8Array(bytes), {name: "drive.parquet"});
    assertDrive(log, ["speed", "vehicle-speed", "coolant-temperature"]);
    assert.equal(requireChannel(log, "speed").column, "GNSS speed [km/h]");
    assertClose(log.clockZeroS!, START_S, 1e-3);
  });
  it("Parquet with nanoseconds in whole numbers and a speed whose unit the positions tell", () => {
    const double = (name: string, data: number[]) => ({name, data, type: "DOUBLE" as const});
    const bytes = parquetWriteBuffer({
      columnData: [
        {
          name: "time_ns",
          data: drive.map(({i}) => BigInt(START_S) * 1_000_000_000n + BigInt(i) * 100_000_000n),
          type: "INT64",
        },
        double(
          "speed",
          drive.map(({mps}) => mps),
        ),
        double(
          "latitude",
          drive.map(({latitude}) => latitude),
        ),
        double(
          "longitude",
          drive.map(({longitude}) => longitude),
        ),
      ],
    });
    assertDrive(readLogBytes(new Uint8Array(bytes), {name: "drive.parquet"}), ["speed"]);
  });
  it("MDF with a slow group beside the fast one, bus names, units on channels", () => {
    const record = (...values: number[]) => new Uint8Array(new Float64Array(values).buffer);
    const float = (name: string, unit: string, at: number) => ({
      name,
      unit,
      dataType: 4,
      byteOffset: 8 * at,
      bitCount: 64,
    });
    const master = {...float("t", "s", 0), type: 2, syncType: 1};
    const bytes = writeMdf({
      startNs: BigInt(START_S) * 1_000_000_000n,
      data: [
        {
          groups: [
            {
              name: "ambient",
              dataBytes: 16,
              channels: [master, float("AmbAirTemp", "degC", 1)],
              records: [0, 10, 20].map(t => record(t, 21)),
            },
          ],
        },
        {
          groups: [
            {
              name: "motion",
              dataBytes: 32,
              channels: [
                master,
                float("ABS_01.VehSpd", "km/h", 1),
                float("EngSpd", "rpm", 2),
                float("AccPedPos", "%", 3),
              ],
              records: drive.map(({t, kmh, rpm, throttle}) => record(t, kmh, rpm, 100 * throttle)),
            },
          ],
        },
      ],
    });
    const log = readLogBytes(bytes, {name: "drive.mf4"});
    assertDrive(log, ["speed", "engine-speed", "pedal"]);
    assertClose(log.clockZeroS!, START_S, 1e-9);
  });
});
