import assert from "node:assert/strict";
import {parse} from "csv-parse/sync";
import fc from "fast-check";
import {describe, it} from "vitest";
import {columnMeaning, splitNameUnit} from "../../lib/log/column-name.ts";
import {readLogBytes} from "../../lib/log/read.ts";
import {VOCABULARY} from "../../lib/log/vocabulary.ts";
import {InputError} from "../../lib/result/error.ts";
import {SI_SYMBOL} from "../../lib/units/table.ts";

const bytesOf = (text: string) => new TextEncoder().encode(text);

describe("delimited text", () => {
  it("gives what csv-parse and Number give", () => {
    // csv-parse 7.0.3 splits the cells into strings, Number turns them into numbers: the slow way, cell by cell.
    const number = fc.oneof(
      fc.double({min: -1e6, max: 1e6, noNaN: true}).map(String),
      fc
        .tuple(fc.double({min: -1e3, max: 1e3, noNaN: true}), fc.integer({min: 0, max: 20}))
        .map(([v, d]) => v.toFixed(d)),
      fc.integer({min: -1e9, max: 1e9}).map(String),
      fc.double({noNaN: true, noDefaultInfinity: true}).map(v => v.toExponential()),
    );
    const cell = fc.oneof(
      {weight: 8, arbitrary: number},
      fc.constantFrom("", "--", '"12.5"', " 7 ", "bad", "1e999"),
    );
    const rowOf = (of: fc.Arbitrary<string>, width: number) =>
      fc.array(of, {minLength: width, maxLength: width});
    // a first row with more words than numbers is one more line of the header
    const table = fc
      .integer({min: 1, max: 5})
      .chain(width =>
        fc
          .tuple(rowOf(number, width), fc.array(rowOf(cell, width), {minLength: 2, maxLength: 30}))
          .map(([first, rest]) => [first, ...rest]),
      );
    fc.assert(
      fc.property(
        table,
        fc.constantFrom(",", ";", "\t"),
        fc.constantFrom("\n", "\r\n"),
        (rows, separator, newline) => {
          const head = ["t [s]", ...rows[0].map((_, k) => `c${k}`)].join(separator);
          const text = [head, ...rows.map((row, i) => [i, ...row].join(separator))].join(newline);
          const log = readLogBytes(bytesOf(text));
          const expected: string[][] = parse(text, {
            delimiter: separator,
            from_line: 2,
            trim: true,
            relax_quotes: true,
            record_delimiter: ["\r\n", "\n"],
          });
          assert.equal(log.timeS.length, rows.length);
          for (const [i, row] of expected.entries()) {
            for (let k = 1; k < row.length; k++) {
              const value = /^[+-]?[\d.]/.test(row[k]) ? Number(row[k]) : Number.NaN;
              const channel = log.channels[k];
              if (channel.kind !== "number") continue;
              const wanted = Number.isFinite(value) ? value : Number.NaN;
              assert.ok(
                Object.is(channel.values[i], wanted),
                `row ${i}, cell "${row[k]}": ${channel.values[i]}`,
              );
            }
          }
        },
      ),
      {seed: 8, numRuns: 300},
    );
  });
  it("reads in pieces what it reads at once, lines across the ends of pieces included", () => {
    // A piece is 4 MB; this file has 9 MB in lines of changing length.
    const rows = Array.from({length: 300_000}, (_, i) => `${i / 100},${(i % 997) / 7},${"9".repeat(i % 13)}`);
    const log = readLogBytes(bytesOf(`Time [s],Speed [m/s],x\n${rows.join("\n")}`));
    assert.equal(log.timeS.length, rows.length);
    assert.equal(log.unread.rows.length, 0);
    for (let i = 0; i < rows.length; i++) {
      assert.equal(log.timeS[i], i / 100);
      assert.equal(log.channels[1].values[i], (i % 997) / 7);
    }
  });
  it("never crashes, hangs or lets a NaN into time, whatever the bytes", () => {
    const piece = fc.constantFrom(
      "Time [s]",
      "Speed [km/h]",
      ",",
      ";",
      "\t",
      "\n",
      "\r\n",
      "0.1",
      "1",
      "-",
      "12:00:00",
      "2031-05-17",
      '"',
      "\0",
      "\u001b[2J",
      "é",
      "1e5",
      ".",
      "true",
      " ",
      "99999999999999999999",
      "[",
      "°C",
      "--",
    );
    const text = fc.oneof(
      fc.array(piece, {maxLength: 120}).map(parts => bytesOf(parts.join(""))),
      fc.uint8Array({maxLength: 400}),
      fc
        .array(piece, {maxLength: 60})
        .map(parts => bytesOf(`Time [s],Speed [km/h]\n0,1\n0.1,2\n${parts.join("")}`)),
    );
    fc.assert(
      fc.property(text, bytes => {
        let log: ReturnType<typeof readLogBytes>;
        try {
          log = readLogBytes(bytes);
        } catch (error) {
          assert.ok(error instanceof InputError, String((error as Error).stack));
          assert.doesNotMatch(error.message, /NaN|undefined/);
          return;
        }
        for (let i = 0; i < log.timeS.length; i++) {
          assert.ok(Number.isFinite(log.timeS[i]) && (i === 0 || log.timeS[i] > log.timeS[i - 1]));
        }
        for (const {values, valid, kind, labels} of log.channels) {
          assert.equal(values.length, log.timeS.length);
          assert.equal(values.filter(value => Number.isFinite(value)).length, valid);
          assert.ok(!values.includes(Number.POSITIVE_INFINITY));
          assert.equal(labels !== undefined, kind === "text");
        }
        for (const {count, first_line} of log.unread.rows) assert.ok(count > 0 && first_line > 0);
      }),
      {seed: 9, numRuns: 3000},
    );
  });
});

describe("names of columns", () => {
  it("come apart into name and unit", () => {
    const parts: Record<string, [string, string | null]> = {
      "Speed [km/h]": ["Speed", "km/h"],
      "Speed (km/h]": ["Speed", "km/h"],
      "Speed[km/h": ["Speed", "km/h"],
      "Speed (GPS) [km/h]": ["Speed (GPS)", "km/h"],
      "Speed [km/h] (GPS)": ["Speed (GPS)", "km/h"],
      "Speed [furlong]": ["Speed", "furlong"],
      "Throttle (pedal)": ["Throttle (pedal)", null],
      speed_kmh: ["speed", "kmh"],
      "Speed km/h": ["Speed", "km/h"],
      coolant_temp_C: ["coolant temp", "C"],
      "Bank 1 Sensor A": ["Bank 1 Sensor A", null],
      "km/h": ["", "km/h"],
      "Gear ()": ["Gear ()", null],
    };
    for (const [header, [name, unitText]] of Object.entries(parts)) {
      assert.deepEqual(splitNameUnit(header), {name, unitText}, header);
    }
  });
  it("mean what they mean in the field, words and unit together", () => {
    const meanings: [header: string, quantity: string | null, confidence?: string][] = [
      ["GPS Speed [km/h]", "speed", "sure"],
      ["velocity", "speed", "likely"],
      ["GroundSpeed_mps", "speed", "sure"],
      ["km/h", "speed", "weak"],
      ["Vehicle speed sensor (mph)", "vehicle-speed", "sure"],
      ["Speed accuracy [m/s]", "speed-accuracy", "sure"],
      ["Engine RPM", "engine-speed", "sure"],
      ["engineSpeed [1/min]", "engine-speed", "sure"],
      ["Alt (m)", "height", "sure"],
      ["Lat", "latitude", "sure"],
      ["Sats", "satellites", "sure"],
      ["Intake air temp. [°C]", "intake-temperature", "sure"],
      ["IAT (°F)", "intake-temperature", "sure"],
      ["MAP [kPa]", "manifold-pressure", "sure"],
      ["MAP [V]", null],
      ["Boost target (bar)", "boost-target", "sure"],
      ["Ign. Timing [°]", "spark-advance", "sure"],
      ["Knock retard", "knock-correction", "sure"],
      ["Long. acceleration [g]", "acceleration", "sure"],
      ["Throttle Position (%)", "throttle", "sure"],
      ["Accelerator pedal position [%]", "pedal", "sure"],
      ["Lambda", "lambda", "sure"],
      ["V", null],
      ["v [m/s]", "speed", "sure"],
      ["MAP_kPa", "manifold-pressure", "sure"],
      ["power_kW", "power", "sure"],
      ["groundSpeedMps", "speed", "sure"],
      ["gSpeed [mm/s]", "speed", "sure"],
      ["IgnAdv [deg]", "spark-advance", "sure"],
      ["ECM_02.EngSpd [rpm]", "engine-speed", "likely"],
      ["Vehcile speed [km/h]", "vehicle-speed", "likely"],
      ["Pressure change [kPa]", null],
      ["Vehicle speed (GPS) [km/h]", "speed", "sure"],
      ["Speed (OBD) (km/h)", "vehicle-speed", "sure"],
      ["Speed|km/h|0|200", "speed", "sure"],
      ["Speed limit [km/h]", null],
      ["Target speed [km/h]", null],
      ["constructor", null],
      ["", null],
    ];
    for (const [header, quantity, confidence] of meanings) {
      const meaning = columnMeaning(header, null);
      assert.equal(meaning.quantity?.name ?? null, quantity, header);
      if (confidence) assert.equal(meaning.confidence, confidence, header);
    }
  });
  it("have a vocabulary without doubles", () => {
    const seen = new Map<string, string>();
    for (const {name, words, dimension} of VOCABULARY) {
      assert.ok(dimension === "none" || dimension in SI_SYMBOL);
      for (const word of words.split(/[|>]/).map(text => text.trim())) {
        assert.equal(seen.get(word), undefined, `"${word}" stands under ${seen.get(word)} and ${name}`);
        seen.set(word, name);
      }
    }
  });
});
