import assert from "node:assert/strict";
import {mkdtempSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {afterAll, describe, it} from "vitest";
import {bandOf} from "../../lib/run/band.ts";
import {readForPasses} from "../../lib/run/read-for-passes.ts";

const folder = mkdtempSync(join(tmpdir(), "fairpull-passes-"));
afterAll(() => rmSync(folder, {recursive: true}));

function written(lines: string[]): string {
  const file = join(folder, "drive.csv");
  writeFileSync(file, lines.join("\n"));
  return file;
}

const UP = bandOf("60km/h", "100km/h");
const DOWN = bandOf("100km/h", "60km/h");

/** Reads the log whole and in its file, and returns the passes, which have to be the same. */
function passesBothWays(file: string, band: typeof UP, inFile: boolean) {
  const whole = readForPasses(file, band);
  const part = readForPasses(file, band, {aboveBytes: 0});
  assert.equal(part.log.timeS.length === 0, inFile);
  assert.deepEqual(part.passes, whole.passes);
  assert.deepEqual(part.log.unread, whole.log.unread);
  assert.deepEqual(part.log.guesses, whole.log.guesses);
  return part.passes;
}

/** 40 minutes at 10 Hz: a pull every five minutes, the second with a poor fix, a held speed and a sensor that is not there. */
const DRIVE = Array.from({length: 24_000}, (_, i) => {
  if (i % 3000 === 2000) return [];
  const phase = (i % 3000) / 10;
  const speed = phase < 20 ? 50 + 3 * phase : Math.max(50, 110 - (phase - 20));
  const poor = i >= 3000 && i < 3200;
  return [
    i / 10,
    i === 9000 ? "" : speed.toFixed(2),
    poor ? 3 : 12,
    Math.round(speed * 1.03),
    poor ? -40 : 90,
    i % 2 ? 0.9 : "",
  ].join(",");
}).flat();
const HEADER = "Time [s],GPS speed [km/h],Satellites,Vehicle speed [km/h],Coolant temp [°C],Lambda";

describe("a log read for its passes", () => {
  it("gives the same passes, with the same doubts, where only what is around them is held", () => {
    const file = written([HEADER, ...DRIVE]);
    const up = passesBothWays(file, UP, true);
    assert.equal(up.length, 8);
    assert.ok(up[1].flags.includes("sensor-default"));
    assert.equal(passesBothWays(file, DOWN, true).length, 8);
  });
  it("does so where a kind of fix keeps columns in memory, and where rows are dropped", () => {
    const file = written([
      `${HEADER},Fix type`,
      ...DRIVE.flatMap((line, i) =>
        i % 700 === 5 ? [`${line},3`, `1.5,${line.slice(line.indexOf(",") + 1)},3`] : `${line},3`,
      ),
    ]);
    assert.equal(passesBothWays(file, UP, false).length, 8);
    const dropped = written([HEADER, ...DRIVE.flatMap((line, i) => (i % 3 > 0 ? [line, line, line] : []))]);
    assert.equal(passesBothWays(dropped, UP, true).length, 8);
  });
  it("does so for a narrow log whose passes lie so close that their surroundings overlap", () => {
    // 15 minutes at 100 Hz with clock times over midnight: a pass every 6 s, 10,000 times as many samples as two margins hold apart.
    const lines = Array.from({length: 90_000}, (_, i) => {
      const clock = new Date(86_000_000 + 10 * i).toISOString().slice(11, 23);
      return `${clock},${(80 + 30 * Math.sin(i / 100)).toFixed(i % 5000 < 2500 ? 2 : 0)},${i % 7}`;
    });
    const file = written(["Time,Speed [km/h],Satellites", ...lines]);
    for (const band of [UP, DOWN]) assert.ok(passesBothWays(file, band, true).length > 140);
  });
  it("says the range of speeds where there is no pass", () => {
    const {log, passes} = readForPasses(written([HEADER, ...DRIVE]), bandOf("150km/h", "200km/h"), {
      aboveBytes: 0,
    });
    assert.deepEqual(passes, []);
    const {range} = log.channels.find(({name}) => name === "speed")!;
    assert.ok(Math.abs(range!.max - 110 / 3.6) < 1e-9); // by hand: the pulls end at 110 km/h
  });
});
