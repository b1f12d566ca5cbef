import assert from "node:assert/strict";
import {mkdtempSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import fc from "fast-check";
import {describe, it} from "vitest";
import {InputError} from "../../lib/result/error.ts";
import {readCoastdownSession} from "../../lib/run/coastdown-session.ts";
import {assertClose} from "../assert-close.ts";

const GOOD = `# a comment
fairpull: 1
test: coastdown
question: What are this car's drag and rolling terms?
band: {from: 110 km/h, to: 30 km/h}
vehicle: {mass: 1280 kg, rotatingMassFactor: 1.031}
air: {temperature: 13.6 degC, pressure: 1014 hPa, humidity: 0.63}
warmUp: 25 min
runs:
  - {file: a.csv, direction: out, at: "09:41", conditions: {airTemperature: 13.6 degC}}
  - {file: b.csv, direction: back, exclude: a car ahead}
  - {file: c.csv, from: 812 s, to: 945 s, direction: out}
`;

const folder = mkdtempSync(join(tmpdir(), "coastdown-session-"));
function read(text: string) {
  const file = join(folder, "session.yaml");
  writeFileSync(file, text);
  return readCoastdownSession(file);
}

/** Asserts an InputError with exit code 2 at a line whose message matches. */
function refuses(from: string | RegExp, to: string, line: number, message: RegExp): void {
  const text = GOOD.replace(from, to);
  assert.notEqual(text, GOOD);
  assert.throws(
    () => read(text),
    (error: unknown) => {
      assert.ok(error instanceof InputError, String((error as Error).stack));
      assert.equal(error.exitCode, 2);
      assert.match(error.message, message);
      assert.equal(error.details.line, line, error.message);
      assert.ok(Number(error.details.column) >= 1);
      return true;
    },
  );
}

describe("readCoastdownSession", () => {
  it("converts every quantity to SI and fills what was left out", () => {
    const session = read(GOOD);
    assertClose(session.band.fromMps, 110 / 3.6, 1e-12);
    assertClose(session.air.temperatureK!, 286.75, 1e-9);
    assert.deepEqual(
      [session.test, session.massKg, session.warmUpS, session.terms],
      ["coastdown", 1280, 1500, 2],
    );
    assert.deepEqual([session.headwindOutMps, session.seed, session.level], [null, 1, 0.95]);
    assert.deepEqual(
      session.runs.map(({run, line, fromS, toS, direction, exclude}) => [
        run,
        line,
        fromS,
        toS,
        direction,
        exclude,
      ]),
      [
        [1, 10, null, null, "out", null],
        [2, 11, null, null, "back", "a car ahead"],
        [3, 12, 812, 945, "out", null],
      ],
    );
    assertClose(session.runs[0].airTemperatureK!, 286.75, 1e-9);
  });

  it("names a misspelt key with its place and the one that was meant", () => {
    refuses("warmUp", "warmup", 8, /"warmup" is not a key of a session; did you mean "warmUp"\?/);
    refuses(
      "airTemperature",
      "airTemprature",
      10,
      /in runs\[1\]\.conditions .*did you mean "airTemperature"/,
    );
    refuses("rotatingMassFactor", "massFactor", 6, /"massFactor" in vehicle .*; known here: mass, rotating/);
    refuses("warmUp: 25 min", "worthwhile: 1 s", 8, /"worthwhile" is not a key of a session/);
    // an unknown key is the likelier cause when a required one is missing too
    refuses("mass: 1280 kg", "mas: 1280 kg", 6, /"mas" in vehicle .*did you mean "mass"/);
  });

  it("asks for the mass, its unit, and a band that falls", () => {
    refuses(/vehicle.*\n/, "", 2, /vehicle: is missing; a force needs the car's mass/);
    refuses("mass: 1280 kg, ", "", 6, /vehicle\.mass: is missing/);
    refuses("1280 kg", "1280", 6, /vehicle\.mass: 1280 has no unit; write for example "1280 kg"/);
    refuses("1280 kg", "1280 m", 6, /1280 m is a length, a mass is needed/);
    refuses("from: 110 km/h", "from: 20 km/h", 5, /falls from a higher to a lower speed/);
    refuses("humidity: 0.63", "humidity: 63", 7, /55 % is written 0\.55/);
  });

  it("tells broken YAML, a key twice, and a span that is named twice or ends before it starts", () => {
    refuses("question: What", "question: [What", 5, /not valid YAML/);
    refuses("warmUp", "test: coastdown\nwarmUp", 8, /unique/i);
    refuses("b.csv", "a.csv", 11, /run 2 names the same span of a\.csv as run 1 \(line 10\)/);
    refuses("from: 812 s, to: 945 s", "from: 945 s, to: 812 s", 12, /ends at 812 s, not after its start/);
    refuses("direction: back", "direction: up", 11, /runs\[2\]\.direction/);
    refuses(/[\s\S]+/, "[1, 2]", 1, /holds no keys/);
  });

  it("reads or refuses any text, and never fails in another way", () => {
    fc.assert(
      fc.property(fc.nat(GOOD.length - 1), fc.nat(30), fc.string({maxLength: 12}), (at, cut, put) => {
        try {
          const session = read(GOOD.slice(0, at) + put + GOOD.slice(at + cut));
          assert.ok(session.massKg > 0 && session.band.fromMps > session.band.toMps);
        } catch (error) {
          assert.ok(error instanceof InputError, String((error as Error).stack));
        }
      }),
      {seed: 5, numRuns: 200},
    );
  });
});
