import assert from "node:assert/strict";
import {readFileSync} from "node:fs";
import {fileURLToPath} from "node:url";
import fc from "fast-check";
import {type GGAPacket, parseNmeaSentence, type RMCPacket} from "nmea-simple";
import {describe, it} from "vitest";
import {requireChannel} from "../../lib/log/channel.ts";
import {DERIVED_SPEED_COLUMN} from "../../lib/log/derived-speed.ts";
import {checksum, readPiece} from "../../lib/log/nmea/sentence.ts";
import {nmea} from "../../lib/log/nmea.ts";
import {readLog} from "../../lib/log/read.ts";
import type {RawTable} from "../../lib/log/reader.ts";
import {memorySource} from "../../lib/log/source.ts";
import {InputError} from "../../lib/result/error.ts";
import {passesOfLog} from "../../lib/run/passes.ts";
import {assertClose} from "../assert-close.ts";
import {cpuClock} from "../cpu-clock.ts";

// Rows C1: example sentences of public tutorials and receiver manuals (checksums recomputed), and invented ones.
const {rows} = JSON.parse(readFileSync(new URL("../reference/nmea.json", import.meta.url), "utf8"));
const row = (id: string) => rows.find((candidate: {id: string}) => candidate.id === id);

const fixture = (name: string) => fileURLToPath(new URL(`../fixtures/odd/nmea/${name}`, import.meta.url));
const readBytes = (bytes: Uint8Array) => nmea.read(memorySource("log.nmea", bytes), {});
const readText = (text: string) => readBytes(new TextEncoder().encode(text));
const readFixture = (name: string) => readBytes(readFileSync(fixture(name)));
const cells = (table: RawTable, name: string) => [
  ...(table.columns.find(c => c.header === name)?.values ?? []),
];
const reasons = (unread: RawTable["unread"]) =>
  Object.fromEntries(unread.rows.map(({reason, count, first_line}) => [reason, [count, first_line]]));
const closed = (body: string) => `$${body}*${checksum(body).toString(16).toUpperCase().padStart(2, "0")}`;
const NO_FIX = "no fix (status V or quality 0): position and speed are not used";

describe("nmea: sentences", () => {
  it("accepts the checksum of every published example and decodes it", () => {
    for (const {sentence, decoded} of row("C1-sentences").cases) {
      assert.equal(nmea.probe(new TextEncoder().encode(sentence), "x"), 1, sentence);
      const {type} = decoded;
      if (type === "GSA" || type === "GSV" || type === "GLL") {
        const table = readText(
          `${closed("GPRMC,000000,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W")}\n${sentence}`,
        );
        assert.deepEqual(reasons(table.unread), {[`${type} sentence, not used`]: [1, 2]});
        continue;
      }
      if (type === "VTG") continue; // has no time of its own: below
      const table = readText(sentence);
      const one = (name: string) => cells(table, name)[0];
      const [hours, minutes, seconds] = decoded.utc.split(":").map(Number);
      assert.equal(one("time"), hours * 3600 + minutes * 60 + seconds);
      const {tolerance} = row("C1-sentences");
      assertClose(one("latitude"), decoded.lat_deg, tolerance.lat_lon_deg);
      assertClose(one("longitude"), decoded.lon_deg, tolerance.lat_lon_deg);
      if (type === "RMC") {
        assert.equal(one("speed"), decoded.speed_knots);
        assert.equal(one("course"), decoded.course_deg);
        // 230394: two-digit years from 80 on are of the last century
        assert.equal(table.columns[0].zero, Date.UTC(1994, 2, 23) / 1000);
      } else {
        assert.equal(one("fix quality"), decoded.fix_quality);
        assert.equal(one("satellites"), decoded.satellites);
        assert.equal(one("hdop"), decoded.hdop);
        assert.equal(one("height"), decoded.altitude_msl_m);
      }
    }
  });
  it("gives VTG the time of the sentence before it, and its km/h", () => {
    const [gga, , vtg] = row("C1-sentences").cases;
    const table = readText(`${gga.sentence}\r\n${vtg.sentence}\r\n`);
    const {speed_kmh, course_true_deg} = vtg.decoded;
    assert.deepEqual([cells(table, "speed"), cells(table, "course")], [[speed_kmh], [course_true_deg]]);
    assert.equal(table.columns.find(column => column.header === "speed")?.unit, "km/h");
    assert.deepEqual(
      table.guesses.map(guess => guess.what),
      ["time of VTG"],
    );
  });
  it("refuses a changed digit, a checksum without digits and a sentence cut short", () => {
    const kinds = row("C1-reject").cases.map(
      ({sentence}: {sentence: string}) => readPiece(sentence.slice(1)).kind,
    );
    assert.deepEqual(kinds, ["refused", "cut", "cut"]);
  });
  it("keeps hundredths of a second and the date of two 10 Hz sentences", () => {
    const {cases, expected, tolerance} = row("C1-10hz");
    const table = readText(cases.map(({sentence}: {sentence: string}) => sentence).join("\n"));
    const [time] = table.columns;
    assertClose(time.values[1] - time.values[0], expected.dt_s, 1e-10); // a tenth less the rounding of 36 902.3
    for (const k of [0, 1]) {
      const utc = new Date(Math.round((time.zero + time.values[k]) * 1000)).toISOString();
      assert.equal(utc, expected.utc[k]);
      assertClose(cells(table, "speed")[k] * 1.852, expected.speed_kmh[k], tolerance);
      assertClose(cells(table, "latitude")[k], expected.lat_deg[k], tolerance);
    }
  });
  it("reads what another library reads", () => {
    // nmea-simple 3.3.0 of the npm registry; its position is in degrees, its speed in knots
    const digits = (low: number, high: number, width: number) =>
      fc.integer({min: low, max: high}).map(value => String(value).padStart(width, "0"));
    const angle = (limit: number, width: number) =>
      fc
        .tuple(digits(0, limit - 1, width), digits(0, 59, 2), digits(0, 99_999, 5))
        .map(([d, m, f]) => `${d}${m}.${f}`);
    const clock = fc
      .tuple(digits(0, 23, 2), digits(0, 59, 2), digits(0, 59, 2), digits(0, 99, 2))
      .map(([h, m, s, f]) => `${h}${m}${s}.${f}`);
    const rmc = fc.record({
      clock,
      latitude: angle(90, 2),
      longitude: angle(180, 3),
      ns: fc.constantFrom("N", "S"),
      ew: fc.constantFrom("E", "W"),
      speed: fc.integer({min: 0, max: 400_000}).map(v => (v / 1000).toFixed(3)),
      course: fc.integer({min: 0, max: 35_999}).map(v => (v / 100).toFixed(2)),
      talker: fc.constantFrom("GP", "GN", "GL", "GA", "BD", "GB", "QZ"),
      satellites: digits(0, 40, 2),
      height: fc.integer({min: -4000, max: 40_000}).map(v => (v / 10).toFixed(1)),
    });
    fc.assert(
      fc.property(rmc, v => {
        const where = `${v.latitude},${v.ns},${v.longitude},${v.ew}`;
        const sentences = [
          closed(`${v.talker}RMC,${v.clock},A,${where},${v.speed},${v.course},140625,,,A`),
          closed(`${v.talker}GGA,${v.clock},${where},1,${v.satellites},0.9,${v.height},M,47.0,M,,`),
        ];
        const table = readText(sentences.join("\r\n"));
        const [other, height] = sentences.map(parseNmeaSentence) as [RMCPacket, GGAPacket];
        const one = (name: string) => cells(table, name)[0];
        assert.equal(table.rows, 1);
        assertClose(one("latitude"), other.latitude, 1e-12);
        assertClose(one("longitude"), other.longitude, 1e-12);
        assert.equal(one("speed"), other.speedKnots);
        assert.equal(one("course"), other.trackTrue);
        assert.equal(one("height"), height.altitudeMeters);
        assert.equal(one("satellites"), height.satellitesInView);
        // the other library drops the fraction of the second
        const {zero, values} = table.columns[0];
        assert.equal(Math.floor(zero + values[0]), Math.floor(other.datetime!.getTime() / 1000));
      }),
      {seed: 5, numRuns: 300},
    );
  });
});

describe("nmea: recordings", () => {
  it("merges RMC at 10 Hz with GGA at 1 Hz on time", () => {
    const table = readFixture("rmc-10hz-gga-1hz.nmea");
    assert.equal(table.rows, 81);
    assert.deepEqual(
      table.columns.map(({header, unit}) => [header, unit]),
      [
        ["time", null],
        ["speed", "kn"],
        ["course", "deg"],
        ["latitude", "deg"],
        ["longitude", "deg"],
        ["height", "m"],
        ["satellites", null],
        ["hdop", null],
        ["fix quality", null],
      ],
    );
    const quality = cells(table, "fix quality");
    assert.deepEqual(
      quality.filter(value => !Number.isNaN(value)),
      [1, 1, 1, 1, 2, 2, 2, 2, 2],
    );
    assert.equal(quality.indexOf(2), 40);
    assert.deepEqual(reasons(table.unread), {
      "GSA sentence, not used": [9, 3],
      "GSV sentence, not used": [9, 4],
    });
    assert.equal(table.lineOf(1), 5);
  });
  it("gets through a serial capture with every fault, and counts each", () => {
    const table = readFixture("faults.nmea");
    // Written for this test: seconds past 10:15 with the speed in knots; the sentences of seconds 1, 4, 11 and 17 are lost.
    const clock = cells(table, "time").map(value => value - 36_900);
    assert.deepEqual(clock, [0, 2, 3, 5, 6, 7, 8, 9, 10, 12, 13, 14, 15, 16]);
    const none = Number.NaN;
    assert.deepEqual(cells(table, "speed"), [30, 32, 33, 35, 36, 37, 38, 39, 40, none, none, 44, none, 46]);
    assert.deepEqual(reasons(table.unread), {
      "text that is no sentence": [3, 1],
      "proprietary sentence, not used": [1, 3],
      [NO_FIX]: [2, 4],
      "wrong checksum": [1, 6],
      "sentence cut off": [2, 9],
      "impossible latitude in RMC": [1, 14],
      "impossible date in RMC": [1, 15],
      "impossible time in RMC": [1, 16],
      "impossible latitude in GGA": [1, 17],
      "text behind a sentence": [1, 19],
      "impossible speed in RMC": [1, 20],
    });
    assert.deepEqual(table.guesses, [
      {
        what: "checksum",
        chosen: "1 complete sentences without one are taken, the first in line 7",
        confidence: "likely",
      },
    ]);
    const latitudes = cells(table, "latitude");
    assert.deepEqual(
      [7, 9, 10].map(k => latitudes[k]),
      [none, none, none],
    );
  });
  it("carries the date over midnight to sentences without one, and back to those before the first", () => {
    const {columns, rows} = readFixture("midnight.nmea");
    assert.equal(rows, 9);
    const start = Date.UTC(2024, 11, 31, 23, 59, 58) / 1000;
    const [time] = columns;
    assert.deepEqual(
      [...time.values].map(value => value + time.zero),
      Array.from({length: 9}, (_, k) => start + k / 2),
    );
  });
  it("leaves out what receivers tell before their first fix", () => {
    const table = readFixture("late-fix-vtg-zda.nmea");
    assert.equal(table.rows, 6);
    assert.equal(table.columns[0].zero, Date.UTC(2025, 5, 14) / 1000);
    assert.deepEqual(reasons(table.unread), {[NO_FIX]: [6, 1]});
  });
  it("puts a late sentence into its row", () => {
    const at = (clock: string, type: string) =>
      type === "RMC"
        ? closed(`GPRMC,${clock},A,4712.0,N,02018.0,W,30.0,0.0,140625,,,A`)
        : closed(`GPGGA,${clock},4712.0,N,02018.0,W,1,08,0.9,120.0,M,,M,,`);
    const late = ["RMC101500.0", "RMC101500.1", "GGA101500.0", "RMC101500.2", "GGA101500.1"];
    const table = readText(late.map(word => at(word.slice(3), word.slice(0, 3))).join("\n"));
    assert.equal(table.rows, 3);
    assert.deepEqual(cells(table, "height"), [120, 120, Number.NaN]);
  });
  it("takes the speed of the sentence that comes more often and keeps the other", () => {
    const lines = [0, 1, 2, 3].flatMap(k => [
      closed(`GPGGA,10150${k},4712.0,N,02018.0,W,1,08,0.9,120.0,M,,M,,`),
      ...(k === 0 ? [closed("GPRMC,101500,A,4712.0,N,02018.0,W,30.0,0.0,140625,,,A")] : []),
      closed(`GPVTG,0.0,T,,M,${30 + k}.0,N,,K,A`),
    ]);
    const table = readText(lines.join("\n"));
    assert.deepEqual(
      cells(table, "speed"),
      [30, 31, 32, 33].map(knots => knots * 1.852),
    );
    assert.deepEqual(cells(table, "RMC speed").slice(0, 1), [30]);
  });
  it("refuses a recording that never had a fix, with what was found", () => {
    assert.throws(() => readFixture("never-fixed.nmea"), {
      name: "InputError",
      message: /no sentence tells a position or a speed: 5 × no fix .*first in line 1/,
    });
  });
});

describe("nmea through readLog", () => {
  // By hand: 2.5 m/s², so (110 − 60)/3.6/2.5 s; knots have 3 decimals, 0.0005 kn at both ends are 0.0002 s.
  const PULL_S = 50 / 3.6 / 2.5;
  it("gives time base, SI and passes", () => {
    const log = readLog(fixture("rmc-10hz-gga-1hz.nmea"));
    assert.equal(log.format, "NMEA 0183");
    assert.equal(log.clockZeroS, Date.UTC(2025, 5, 14, 10, 15) / 1000);
    assertClose(log.timeS[80], 8, 1e-9);
    assertClose(requireChannel(log, "speed").values[0], 15, 0.0003); // 0.0005 kn
    assert.deepEqual(
      log.channels.map(({name, valueUnit}) => [name, valueUnit]),
      [
        ["time", "s"],
        ["speed", "m/s"],
        ["course", "deg"],
        ["latitude", "deg"],
        ["longitude", "deg"],
        ["height", "m"],
        ["satellites", "1"],
        ["hdop", "1"],
        ["fix", "1"],
      ],
    );
    const [pass, ...others] = passesOfLog(log, {
      fromMps: 60 / 3.6,
      toMps: 110 / 3.6,
      unit: "km/h",
      gear: null,
    });
    assert.equal(others.length, 0);
    assertClose(pass.elapsedS, PULL_S, 0.0003);
    assert.deepEqual(pass.flags, []);
  });
  it("reads sentences without checksums, in UTF-16 and with bare carriage returns alike", () => {
    const log = readLog(fixture("no-checksums.nmea"));
    const [pass] = passesOfLog(log, {fromMps: 60 / 3.6, toMps: 110 / 3.6, unit: "km/h", gear: null});
    assertClose(pass.elapsedS, PULL_S, 0.0003);
    assert.match(log.guesses[0].chosen, /^40 complete sentences/);
    const text = readFileSync(fixture("no-checksums.nmea"), "latin1");
    const plain = readText(text);
    for (const bytes of [Buffer.from(`\ufeff${text}`, "utf16le"), Buffer.from(text.replaceAll("\n", "\r"))]) {
      assert.ok(nmea.probe(bytes, "x") > 0.5);
      const table = readBytes(bytes);
      assert.deepEqual(table.columns, plain.columns);
      assert.equal(table.lineOf(39), 40);
    }
  });
  it("has clock time only where no sentence tells the date", () => {
    const log = readLog(fixture("gga-only.nmea"));
    assert.deepEqual([...log.timeS], [0, 1, 2, 3, 4, 5, 6, 7, 8]);
    assert.equal(requireChannel(log, "speed").column, DERIVED_SPEED_COLUMN); // marked: the file has no speed of its own
  });
  it("leaves shared time stamps of a whole-second clock to the time base", () => {
    const log = readLog(fixture("whole-seconds.nmea"));
    assert.equal(log.timeS.length, 8);
    assert.deepEqual(
      log.unread.rows.map(({count}) => count),
      [24],
    );
  });
});

describe("nmea on damaged input", () => {
  /** Reads, or refuses in words; whatever comes out is of one length, with finite times. */
  function survives(bytes: Uint8Array): void {
    nmea.probe(bytes, "x");
    let table: RawTable;
    try {
      table = readBytes(bytes);
    } catch (error) {
      assert.ok(error instanceof InputError, String(error));
      return;
    }
    assert.ok(table.rows > 0);
    for (const {values, header} of table.columns) {
      assert.equal(values.length, table.rows, header);
      assert.ok(
        values.some(value => Number.isFinite(value)),
        header,
      );
    }
    assert.ok(table.columns[0].values.every(value => Number.isFinite(value)));
    for (let i = 0; i < table.rows; i++) assert.ok(table.lineOf(i) >= 1);
    const limits: [string, number, number][] = [
      ["latitude", -90, 90],
      ["longitude", -180, 180],
      ["speed", 0, 1852],
    ];
    for (const [name, low, high] of limits) {
      for (const value of cells(table, name))
        assert.ok(Number.isNaN(value) || (value >= low && value <= high), name);
    }
  }
  const originals = ["faults.nmea", "midnight.nmea", "late-fix-vtg-zda.nmea", "no-checksums.nmea"].map(name =>
    readFileSync(fixture(name)),
  );
  it("survives changed, deleted, doubled and swapped bytes", () => {
    const change = fc.record({at: fc.nat(), length: fc.nat({max: 40}), bytes: fc.uint8Array({maxLength: 8})});
    fc.assert(
      fc.property(
        fc.constantFrom(...originals),
        fc.array(change, {minLength: 1, maxLength: 12}),
        (original, changes) => {
          let bytes: Uint8Array = original;
          for (const {at, length, bytes: put} of changes) {
            const from = at % (bytes.length + 1);
            bytes = Buffer.concat([bytes.subarray(0, from), put, bytes.subarray(from + length)]);
          }
          survives(bytes);
        },
      ),
      {seed: 7, numRuns: 400},
    );
  });
  it("survives right checksums over any content", () => {
    const field = fc.oneof(
      fc.constantFrom(
        "",
        "A",
        "V",
        "N",
        "S",
        "E",
        "W",
        "M",
        "T",
        "K",
        "101500.00",
        "235959.99",
        "000000",
        "140625",
        "000000",
        "4712.0",
        "9999.99",
        "1",
        "-1",
        "1e9",
        "99999999999",
      ),
      fc.string({unit: fc.constantFrom(..."0123456789.-"), maxLength: 10}),
    );
    const sentence = fc
      .tuple(
        fc.constantFrom("GPRMC", "GNGGA", "GPVTG", "GNZDA", "GPGLL", "PX", ""),
        fc.array(field, {maxLength: 16}),
      )
      .map(([address, fields]) => closed([address, ...fields].join(",")));
    fc.assert(
      fc.property(
        fc.array(sentence, {maxLength: 12}),
        fc.constantFrom("\n", "\r\n", "", "$"),
        (sentences, between) => survives(new TextEncoder().encode(sentences.join(between))),
      ),
      {seed: 8, numRuns: 400},
    );
  });
  it("walks through 8 MB without a line end in under two seconds", () => {
    const sentence = closed("GPRMC,101500,A,4712.0,N,02018.0,W,30.0,0.0,140625,,,A");
    const spentMs = cpuClock();
    assert.throws(() => readText("$".repeat(100_000) + "x".repeat(4_000_000)), InputError);
    assert.equal(readText(sentence + "y".repeat(4_000_000) + sentence.repeat(1000)).rows, 1001);
    assert.ok(spentMs() < 2000);
  });
});
