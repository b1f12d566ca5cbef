import assert from "node:assert/strict";
import {fileURLToPath} from "node:url";
import {describe, it} from "vitest";
import {requireChannel} from "../../lib/log/channel.ts";
import {readLog} from "../../lib/log/read.ts";
import type {Log} from "../../lib/result/log.ts";
import {bandOf} from "../../lib/run/band.ts";
import {type Pass, passesOfLog} from "../../lib/run/passes.ts";
import {assertClose} from "../assert-close.ts";

const read = (name: string): Log =>
  readLog(fileURLToPath(new URL(`../fixtures/odd/${name}`, import.meta.url)), {name});
const passes = (name: string, from: string, to: string): Pass[] => passesOfLog(read(name), bandOf(from, to));

/** The odd logs hold 0, 0.1 … 1.1 s at 50, 51 … 61 km/h; some of these a pull of 12 s from 40 km/h up at 6 km/h a second. */
describe("an odd log", () => {
  for (const name of [
    "no-last-newline.csv",
    "blank-lines.csv",
    "elapsed-from-one.csv",
    "head-road-load.csv",
    "signs.csv",
  ]) {
    it(`is read whole: ${name}`, () => {
      const log = read(name);
      const startS = name === "elapsed-from-one.csv" ? 1 : 0;
      assert.deepEqual(
        [...log.timeS].map(time => Math.round((time - startS) * 10)),
        Array.from({length: 12}, (_, i) => i),
      );
      const speed = requireChannel(log, "speed").values;
      for (const [i, value] of speed.entries()) assertClose(value, (50 + i) / 3.6, 1e-12);
      assertClose(requireChannel(log, "coolant-temperature").values[11], 273.15 + 91, 1e-9);
      assert.deepEqual(log.unread, {rows: [], columns: []});
    });
  }
  it("keeps the signs that it was written with", () => {
    const log = read("signs.csv");
    assert.equal(log.channels.find(({column}) => column === "Battery current [A]")!.values[2], -14.5);
    assert.equal(requireChannel(log, "torque").values[11], -33);
  });
  it("may begin 1024 weeks early, before its receiver knew the date: those rows are dropped and counted", () => {
    const log = read("week-roll-over.csv");
    assert.equal(log.timeS.length, 9);
    // 2031-05-17 14:05:30.3 UTC, by `date -u -d "2031-05-17 14:05:30.3" +%s.%N`
    assertClose(log.clockZeroS!, 1936793130.3, 1e-6);
    assert.deepEqual(log.unread.rows, [
      {reason: "date more than a year from the middle of the log", count: 3, first_line: 2},
    ]);
  });
  it("may have all bits set where there is no value", () => {
    const log = read("all-ones.csv");
    const valid = (name: string) => requireChannel(log, name).valid;
    assert.deepEqual(
      [valid("speed"), valid("coolant-temperature"), valid("engine-speed"), valid("throttle")],
      [9, 11, 8, 11],
    );
    const words = (value: string, column: string) =>
      `${value}, all bits set, stands for no value in column "${column}"`;
    assert.deepEqual(log.unread.rows, [
      {reason: words("655.35", "Speed [km/h]"), count: 3, first_line: 2},
      {reason: words("215", "Coolant temperature [°C]"), count: 1, first_line: 7},
      {reason: words("8191.875", "Engine speed [rpm]"), count: 4, first_line: 2},
      {reason: words("102", "Throttle [%]"), count: 1, first_line: 4},
    ]);
  });
  it("is refused where its only speed is that of a wheel in turns a minute", () => {
    assert.throws(() => requireChannel(read("wheel-rpm.csv"), "speed"), {
      name: "InputError",
      message:
        /no column is recognised as speed; name it, --column speed="…"; the columns are .*"Wheel speed \[rpm\]"/,
    });
  });
});

describe("a pass of an odd log", () => {
  it("has the uncertainty of its true refresh where values are held over rows", () => {
    // 6 km/h a second, so 60 to 100 km/h takes 20/3 s. A held value is up to H late at each end: √(H²/12 · 2) = 0.41 H.
    const [fix] = passes("fix-1hz-rows-10hz.csv", "60 km/h", "100 km/h");
    assert.ok(fix.flags.includes("held-samples"));
    assert.ok(fix.elapsedUS > 0.4 && fix.elapsedUS < 0.6, `${fix.elapsedUS} s`);
    assert.ok(Math.abs(fix.elapsedS - 20 / 3) < 2 * fix.elapsedUS);
    const [held] = passes("sample-and-hold.csv", "60 km/h", "100 km/h");
    assert.ok(held.flags.includes("held-samples"));
    assert.ok(held.elapsedUS > 0.16 && held.elapsedUS < 0.3, `${held.elapsedUS} s`);
    assert.ok(Math.abs(held.elapsedS - 20 / 3) < 2 * held.elapsedUS);
  });
  it("is computed and doubted where speed drops to zero for a sample, or stands still and jumps", () => {
    const zeros = passes("zeros-at-speed.csv", "40 km/h", "80 km/h");
    // back from the zero at 6.0 s to 76.6 km/h at 6.1 s, and on to 80 km/h at 6.667 s; 40 km/h is passed at 6.052 s
    assert.equal(zeros.length, 1);
    assertClose(zeros[0].elapsedS, 20 / 3 - (6 + (0.1 * 40) / 76.6), 1e-9);
    assert.ok(zeros[0].flags.includes("zero-speed") && zeros[0].flags.includes("implausible-acceleration"));
    const [frozen] = passes("frozen-then-jumping.csv", "42 km/h", "66 km/h");
    assert.ok(frozen.elapsedS < 0.4, `${frozen.elapsedS} s`);
    assert.ok(frozen.flags.includes("frozen-speed"));
  });
  it("is not bridged over a hole in which the car moved", () => {
    assert.deepEqual(passes("hole-while-moving.csv", "60 km/h", "100 km/h"), []);
    assert.equal(passes("hole-while-moving.csv", "45 km/h", "65 km/h").length, 1);
  });
});
