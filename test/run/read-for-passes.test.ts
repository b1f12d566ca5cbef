import assert from "node:assert/strict";
import {mkdtempSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {afterAll, describe, it} from "vitest";
import {bandOf} from "../../lib/run/band.ts";
import {readForPasses} from "../../lib/run/read-for-passes.ts";

const folder = mkdtempSync(join(tmpdir(), "fairpull-passes-"));
afterAll(() => rmSync(folder, {recursive: true}));

/** 40 minutes at 10 Hz: a pull every five minutes, the second with a poor fix, a held speed and a sensor that is not there. */
function writeLog(): string {
  const lines = ["Time [s],GPS speed [km/h],Satellites,Vehicle speed [km/h],Coolant temp [°C],Lambda"];
  for (let i = 0; i < 24_000; i++) {
    if (i % 3000 === 2000) continue;
    const phase = (i % 3000) / 10;
    const speed = phase < 20 ? 50 + 3 * phase : Math.max(50, 110 - (phase - 20));
    const poor = i >= 3000 && i < 3200;
    const row = [
      i / 10,
      i === 9000 ? "" : speed.toFixed(2),
      poor ? 3 : 12,
      Math.round(speed * 1.03),
      poor ? -40 : 90,
      i % 2 ? 0.9 : "",
    ];
    lines.push(row.join(","));
  }
  const file = join(folder, "drive.csv");
  writeFileSync(file, lines.join("\n"));
  return file;
}

describe("a log read for its passes", () => {
  it("gives the same passes, with the same doubts, where only what is around them is held", () => {
    const file = writeLog();
    for (const [from, to] of [
      ["60km/h", "100km/h"],
      ["100km/h", "60km/h"],
    ]) {
      const band = bandOf(from, to);
      const whole = readForPasses(file, band);
      const part = readForPasses(file, band, {aboveBytes: 0});
      assert.ok(part.log.channels.some(({values}) => values.length === 0));
      const passes = whole.passes();
      assert.equal(passes.length, 8);
      assert.deepEqual(part.passes(), passes);
      if (from === "60km/h") assert.deepEqual(passes[1].flags.includes("sensor-default"), true);
      assert.deepEqual(part.log.unread, whole.log.unread);
    }
  });
  it("says what it holds where there is no pass", () => {
    const {log, passes} = readForPasses(writeLog(), bandOf("150km/h", "200km/h"), {aboveBytes: 0});
    assert.deepEqual(passes(), []);
    assert.equal(log.channels.find(({name}) => name === "speed")!.values.length, log.timeS.length);
  });
});
