import assert from "node:assert/strict";
import {fileURLToPath} from "node:url";
import {describe, it} from "vitest";
import {requireChannel} from "../../lib/log/channel.ts";
import {type ReadLogOptions, readLog, readLogBytes} from "../../lib/log/read.ts";
import type {Log} from "../../lib/result/log.ts";
import {assertClose} from "../assert-close.ts";

/** The odd logs all hold one trace of 12 samples: 0, 0.1 … 1.1 s, 50, 51 … 61 km/h, coolant at 80 … 91 °C. */
function read(name: string, options: ReadLogOptions = {}): Log {
  return readLog(fileURLToPath(new URL(`../fixtures/odd/${name}`, import.meta.url)), {name, ...options});
}

/** Holds a log to the common trace, as far as the numbers of samples kept tell. */
function assertTrace(
  log: Log,
  {startS = 0, unitMps = 1 / 3.6, rows = Array.from({length: 12}, (_, i) => i)} = {},
): void {
  const speed = requireChannel(log, "speed").values;
  assert.equal(log.timeS.length, rows.length, `${log.file}: rows`);
  for (const [k, row] of rows.entries()) {
    assertClose(log.timeS[k], startS + row / 10, 1e-9, `${log.file}: time of row ${k}`);
    if (Number.isFinite(speed[k]))
      assertClose(speed[k], (50 + row) * unitMps, {rel: 1e-15}, `${log.file}: speed of row ${k}`);
  }
  assert.ok(!Object.is(log.timeS[0], -0));
}

describe("text of a log", () => {
  for (const name of [
    "utf8.csv",
    "utf8-bom.csv",
    "utf16le.csv",
    "utf16be.csv",
    "latin1-degree.csv",
    "twice-encoded-degree.csv",
    "mixed-newlines.csv",
    "cr-only.csv",
    "nul-bytes.csv",
    "comma-blank.csv",
    "semicolon-decimal-comma.txt",
    "quoted-decimal-comma.csv",
    "tab.csv",
    "trailing-separator.csv",
    "trailing-separator-rows-only.csv",
    "quoted-header.csv",
    "units-own-line.csv",
    "units-mistyped.csv",
    "units-in-name.csv",
    "units-in-cells.csv",
    "head-5.csv",
    "head-197.csv",
    "three-line-header.csv",
  ]) {
    it(`is read: ${name}`, () => {
      const log = read(name);
      assertTrace(log);
      const coolant = requireChannel(log, "coolant-temperature");
      assertClose(coolant.values[11], 91 + 273.15, 1e-9);
      assert.equal(coolant.valid, 12);
      assert.deepEqual(log.unread, {rows: [], columns: []});
    });
  }
  it("is read past the codes of a terminal", () => {
    const log = read("screen-codes.csv");
    assertTrace(log);
    assert.equal(requireChannel(log, "coolant-temperature").valid, 12);
  });
  it("keeps every digit", () => {
    const log = read("thousands-of-digits.csv");
    for (let i = 0; i < 12; i++) assert.equal(log.timeS[i], Number((i / 10).toFixed(18)));
  });
});

describe("header of a log", () => {
  it("may have fewer or more names than the rows have fields", () => {
    const short = read("short-header.csv");
    assertTrace(short);
    assert.equal(short.channels[2].column, "column 3");
    const long = read("long-header.csv");
    assertTrace(long);
    assert.deepEqual(long.unread.columns, [
      {name: "Fuel [l]", reason: "the rows have no field for this name"},
      {name: "Gear", reason: "the rows have no field for this name"},
    ]);
  });
  it("may be missing, behind a comment sign, or say nothing: then columns are declared", () => {
    assertTrace(read("no-header.csv", {columns: {time: "1:s", speed: "2:km/h"}}));
    assertTrace(read("generic-names.csv", {columns: {time: "X:s", speed: "Y:km/h"}}));
    assertTrace(read("comment-header.csv"));
    assert.throws(() => read("generic-names.csv"), {
      name: "InputError",
      message: /no column is recognised as time; name one, --column time="X"/,
    });
  });
  it("may contradict its table", () => {
    const log = read("head-contradicts.csv");
    assertTrace(log);
    const vehicle = log.channels.find(channel => channel.column === "Vehicle")!;
    assert.equal(vehicle.kind, "text");
    assert.equal(vehicle.labels!.length, 9);
    assert.equal(vehicle.labels![vehicle.values[3]], "car 3");
  });
  it("may give no unit: then the speed is refused, not guessed", () => {
    assert.throws(() => requireChannel(read("units-nowhere.csv"), "speed"), {
      message:
        'units-nowhere.csv, column "Speed": the file gives no unit for the speed; give it behind a colon, --column speed="Speed:km/h"',
    });
    assertTrace(read("units-nowhere.csv", {columns: {speed: "Speed:km/h"}}));
  });
  it("may name several columns alike: a source line tells, else the user", () => {
    const sources = read("same-names-source.csv");
    assertTrace(sources);
    assert.equal(requireChannel(sources, "speed").column, "Speed [km/h] (GPS)");
    const blank = read("same-names-blank.csv");
    assert.throws(() => requireChannel(blank, "speed"), {
      message: /equally likely to be the speed; settle it with --column speed="2" or --column speed="3"/,
    });
    assertTrace(read("same-names-blank.csv", {columns: {speed: "2"}}));
    assert.throws(() => read("same-names-blank.csv", {columns: {speed: "Speed [km/h]"}}), {
      exitCode: 2,
      message:
        /2 columns are called "Speed \[km\/h\]"; give the column's number: --column speed=2 or --column speed=3/,
    });
  });
  it("may have columns that are empty, text or switches", () => {
    const log = read("empty-text-flags.csv");
    assertTrace(log);
    const kinds = Object.fromEntries(
      log.channels.map(({column, kind, valid}) => [column, `${kind} ${valid}`]),
    );
    assert.deepEqual(kinds, {
      "Time [s]": "number 12",
      "Speed [km/h]": "number 12",
      "Boost [kPa]": "number 0",
      Brake: "flag 12",
      Mode: "text 12",
      Lap: "number 0",
    });
    assert.deepEqual([...requireChannel(log, "brake").values], [0, 0, 0, 0, 0, 0, 1, 1, 1, 1, 1, 1]);
    assert.deepEqual(
      log.unread.columns.map(({name}) => name),
      ["Boost [kPa]", "Lap"],
    );
  });
  it("may have empty brackets", () => assertTrace(read("units-round.csv")));
});

describe("time of a log", () => {
  // 2031-05-17 14:05:30 UTC, by `date -u -d "2031-05-17 14:05:30" +%s`
  const EPOCH = 1936793130;
  it("is the log's own where it is elapsed", () => {
    assertTrace(read("elapsed-from-minus-zero.csv"));
    const log = read("elapsed-from-thousands.csv");
    assertTrace(log, {startS: 7200});
    assert.equal(log.timeZero, "elapsed");
  });
  it("is in milliseconds where its steps say so, and that is told", () => {
    const log = read("elapsed-ms-no-unit.csv");
    assertTrace(log);
    assert.deepEqual(
      log.guesses.find(({what}) => what === 'unit of "Time"'),
      {what: 'unit of "Time"', chosen: "ms", confidence: "weak"},
    );
  });
  it("starts at the first sample where it is a clock or a date", () => {
    for (const name of [
      "date-and-clock.csv",
      "local-date-time.csv",
      "zoned-date-time.csv",
      "month-first-pm.csv",
      "epoch-s.csv",
      "epoch-ms.csv",
    ]) {
      const log = read(name);
      // epoch seconds as a double have steps of 2⁻²² s = 2.4e-7 s
      for (let i = 0; i < 12; i++)
        assertClose(log.timeS[i], i / 10, name === "epoch-s.csv" ? 3e-7 : 1e-9, name);
      assert.equal(log.timeZero, "first-sample", name);
      assert.equal(log.clockZeroS, EPOCH, name);
    }
    const clock = read("clock-midnight.csv");
    assertTrace(clock);
    assert.equal(clock.clockZeroS, 86_399.5);
  });
  it("keeps nanoseconds since 1970 apart, beyond 2⁵³", () => {
    const log = read("epoch-ns.csv");
    for (let i = 0; i < 12; i++) assert.equal(log.timeS[i], (i * 1e8 + i) / 1e9);
    assert.equal(log.clockZeroS, EPOCH);
  });
  it("is not taken for seconds where it cannot be", () => {
    const log = read("seconds-that-are-ns.csv");
    assertTrace(log, {startS: 5});
    assert.match(
      log.guesses.find(({what}) => what === 'unit of "time [s]"')!.chosen,
      /^ns, although the header says s: its steps would be 1\.00e\+8 s/,
    );
    assert.throws(() => read("seconds-that-are-ns.csv", {columns: {time: "time [s]:s"}}), {
      exitCode: 2,
      message: /steps of the column declared as time are no steps of a log in s/,
    });
  });
  it("is the finer of two columns", () => {
    const log = read("text-time-finer-integer.csv");
    assertTrace(log, {startS: 1});
    assert.equal(log.channels.find(({name}) => name === "time")!.column, "Time [ms]");
    assert.equal(log.clockZeroS, 14 * 3600 + 5 * 60 + 30 - 1); // 14:05:30 was sample 0, at 1 s of the log's own time
  });
  it("drops impossible dates and dates from before the first fix, with count and place", () => {
    const impossible = read("impossible-dates.csv");
    assertTrace(impossible, {rows: [0, 1, 2, 5, 6, 7, 8, 9, 10, 11]});
    assert.deepEqual(impossible.unread.rows, [
      {reason: 'not a date-time in column "Timestamp"', count: 2, first_line: 5},
      {reason: "no readable time", count: 2, first_line: 5},
    ]);
    const garbage = read("garbage-date-before-fix.csv");
    assertTrace(garbage);
    assert.deepEqual(garbage.unread.rows, [
      {reason: "date more than a year from the middle of the log", count: 2, first_line: 2},
    ]);
  });
  it("drops samples that are not later than the latest seen, with count and place", () => {
    const reason = "time not later than the latest seen";
    const equal = read("equal-times.csv");
    assert.deepEqual([...equal.timeS], [0, 1, 2, 3]);
    assert.deepEqual(equal.unread.rows, [{reason, count: 8, first_line: 3}]);
    const back = read("one-step-back.csv");
    assertTrace(back, {rows: [0, 1, 2, 3, 4, 5, 7, 8, 9, 10, 11]});
    assert.deepEqual(back.unread.rows, [{reason, count: 1, first_line: 8}]);
    const appended = read("second-recording-appended.csv");
    assertTrace(appended);
    assert.deepEqual(appended.unread.rows, [
      {reason: "no value in the row", count: 1, first_line: 14},
      {reason, count: 12, first_line: 15},
    ]);
  });
  it("may have holes of days and steps of microseconds", () => {
    const holes = read("holes.csv");
    assertClose(holes.timeS[8] - holes.timeS[7], 7_171_200.1, 1e-6);
    assert.equal(read("irregular-steps.csv").timeS.length, 12);
  });
  it("may be missing: then the rate is needed", () => {
    assert.throws(() => read("no-time.csv"), {
      exitCode: 1,
      message: /no column is recognised as time; .*--rate 10Hz/,
    });
    assertTrace(read("no-time.csv", {rateHz: 10}));
    assert.throws(() => read("no-time.csv", {rateHz: 0}), {
      exitCode: 2,
      message: /the rate must be positive, found 0 Hz/,
    });
  });
});

describe("values of a log", () => {
  it("come in every unit of speed", () => {
    assertTrace(read("mph.csv"), {unitMps: 0.44704});
    assertTrace(read("knots.csv"), {unitMps: 1852 / 3600});
    assertTrace(read("metres-per-second.csv"), {unitMps: 1});
  });
  it("may be missing, as words or as codes, counted and placed", () => {
    const log = read("missing-codes.csv");
    assertTrace(log);
    assert.equal(requireChannel(log, "coolant-temperature").valid, 9);
    assert.equal(requireChannel(log, "lambda").valid, 9);
    assert.deepEqual(log.unread.rows, [
      {reason: '-9999 stands for no value in column "Coolant temperature [°C]"', count: 3, first_line: 2},
      {reason: '10000000000 stands for no value in column "Lambda"', count: 1, first_line: 7},
    ]);
  });
  it("may start late or come one channel a row", () => {
    const late = read("leading-empty.csv");
    assertTrace(late);
    assert.equal(requireChannel(late, "speed").valid, 9);
    assert.equal(requireChannel(late, "engine-speed").valid, 5);
    assert.equal(requireChannel(read("one-channel-a-row.csv"), "speed").valid, 6);
  });
  it("may be unreadable: counted, placed, and the rest kept", () => {
    const log = read("bad-cells.csv");
    assertTrace(log);
    assert.deepEqual(log.unread.rows, [
      {reason: 'not a number in column "Speed [km/h]"', count: 2, first_line: 6},
    ]);
    assert.equal(requireChannel(log, "speed").valid, 10);
  });
  it("may run over several lines inside quotes, and lines are counted as in the file", () => {
    const log = read("quoted-breaks.csv");
    assertTrace(log);
    const note = log.channels[3];
    assert.deepEqual(
      note.labels,
      ['5" pipe', 'two lines, and a "quote"'].sort((a, b) => (a < b ? 1 : -1)),
    );
    const bad = readLogBytes(
      new TextEncoder().encode(
        'Time [s],Speed [km/h],Note\n0,50,"a\nb"\n0.1,bad,"c"\n0.2,51,\n0.3,52,"d\n1,2,3\n',
      ),
    );
    assert.deepEqual(bad.unread.rows, [
      {reason: 'not a number in column "Speed [km/h]"', count: 1, first_line: 4},
    ]);
    assert.equal(bad.timeS.length, 5); // the quote that nothing ends is a character
  });
  it("may have their thousands set apart where that can be read in one way only", () => {
    for (const name of ["thousands-point.csv", "thousands-comma.csv"]) {
      const log = read(name);
      assertTrace(log);
      const {values} = requireChannel(log, "engine-speed");
      assert.deepEqual([...values], [...Array.from({length: 11}, (_, i) => 2000.5 + 10 * i), 3000], name);
    }
    const open = read("thousands-open.csv"); // 2,010 may be 2.01
    assertTrace(open);
    assert.equal(open.channels[3].kind, "text");
  });
  it("may stand in ragged rows and end in the middle of one", () => {
    const log = read("ragged.csv");
    assertTrace(log);
    assert.deepEqual(log.unread.rows, [
      {
        reason: "fewer fields than the table has columns, the missing ones are taken as empty",
        count: 1,
        first_line: 4,
      },
      {reason: "more fields than the table has columns, the last ones are left out", count: 1, first_line: 7},
    ]);
    const cut = read("last-row-cut.csv");
    assertTrace(cut);
    assert.deepEqual(cut.unread.rows, [{reason: "the last row is cut", count: 1, first_line: 14}]);
  });
});
