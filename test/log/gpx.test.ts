import assert from "node:assert/strict";
import {readFileSync} from "node:fs";
import {fileURLToPath} from "node:url";
import fc from "fast-check";
import {describe, it} from "vitest";
import {readLog, readLogBytes} from "../../lib/log/read.ts";
import {InputError} from "../../lib/result/error.ts";
import type {Log} from "../../lib/result/log.ts";
import {bandOf} from "../../lib/run/band.ts";
import {passesOfLog} from "../../lib/run/passes.ts";
import {assertClose} from "../assert-close.ts";
import {reference} from "../reference.ts";

const fixture = (name: string) => fileURLToPath(new URL(`../fixtures/odd/gpx/${name}`, import.meta.url));
const read = (name: string) => readLog(fixture(name));
const values = (log: Log, name: string) => {
  const channel = log.channels.find(candidate => candidate.name === name);
  assert.ok(channel, `no channel ${name} among ${log.channels.map(other => other.name).join(", ")}`);
  return channel;
};

/** A track northwards along a meridian, accelerating steadily, one point a second. */
function northward(accelerationMps2: number, seconds: number): string {
  // A degree of latitude near 47° is 111.18 km on WGS 84 (B9 ellipsoid); good to 0.1 % here, and the bound says so.
  const points = Array.from({length: seconds + 1}, (_, t) => {
    const north = 10 * t + (accelerationMps2 * t * t) / 2;
    const time = new Date(Date.UTC(2031, 4, 17, 12, 0, t)).toISOString();
    return `<trkpt lat="${(47 + north / 111_180).toFixed(9)}" lon="-30.5"><time>${time}</time></trkpt>`;
  });
  return `<?xml version="1.0"?><gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>${points.join("")}</trkseg></trk></gpx>`;
}

describe("GPX", () => {
  it("reads points, heights and times of the reference example", () => {
    // Row C2-gpx: see its source and status in test/reference/gpx.json.
    const {row, datasets} = reference("gpx");
    const {expected} = row("C2-gpx");
    const log = readLogBytes(new TextEncoder().encode(datasets["gpx.sample"].text), {name: "sample.gpx"});
    const absent = (value: number) => (Number.isNaN(value) ? null : value);
    assert.deepEqual([...values(log, "latitude").values], expected.lat);
    assert.deepEqual([...values(log, "longitude").values], expected.lon);
    assert.deepEqual([...values(log, "height").values].map(absent), expected.ele);
    const epochMs = [...log.timeS].map(time => 1000 * (log.clockZeroS! + time));
    epochMs.forEach((at, i) => {
      assertClose(at, expected.epoch_ms[i], 1e-3, `time of point ${i}`); // a double of seconds since 1970 keeps 2e-7 s
    });
    assert.equal(new Set(values(log, "segment").values).size, expected.segments);
  });

  it("takes the speed that GPX 1.0 states in m/s", () => {
    const log = read("gpx10-speed.gpx");
    assert.equal(log.format, "GPX");
    const speed = values(log, "speed");
    assert.equal(speed.valueUnit, "m/s");
    assert.equal(speed.valid, log.timeS.length);
  });

  it("computes speed from positions where there is none, and marks every pass of it", () => {
    // By hand: v = 10 + 2 t; 60 to 110 km/h (16.67 to 30.56 m/s) takes 6.944 s. Metres a degree are good to 0.1 %.
    const log = readLogBytes(new TextEncoder().encode(northward(2, 15)), {name: "north.gpx"});
    assert.match(log.guesses.map(guess => guess.chosen).join(), /computed from positions/);
    const [pass] = passesOfLog(log, bandOf("60 km/h", "110 km/h"));
    assertClose(pass.elapsedS, 6.944, 0.02);
    assert.ok(pass.flags.includes("derived-speed"));
  });

  it("keeps weeks between points as gaps", () => {
    const log = read("one-segment-three-weeks.gpx");
    const longest = log.timeS.reduce((most, time, i) => (i ? Math.max(most, time - log.timeS[i - 1]) : 0), 0);
    assert.ok(longest > 7 * 86_400, `longest step ${longest} s`);
  });

  it("reads UTF-16 and speeds of foreign name spaces", () => {
    assert.ok(read("utf16.gpx").timeS.length > 1);
    assert.ok(values(read("extension-speed-kmh.gpx"), "speed").valid > 0);
  });

  it.each([
    ["cut.gpx", /cut\.gpx, line \d+/],
    ["entities.gpx", /entit|DOCTYPE/i],
    ["other.xml", /not GPX/],
    ["places-only.gpx", /no track point/],
  ])("refuses %s with the reason", (name, message) => {
    assert.throws(
      () => read(name),
      (error: unknown) => error instanceof InputError && error.exitCode === 1 && message.test(error.message),
    );
  });

  it("survives damaged files: a log or a refusal, nothing else", () => {
    const texts = ["gpx10-speed.gpx", "extension-speed-kmh.gpx", "odd-points.gpx"].map(name =>
      readFileSync(fixture(name), "latin1"),
    );
    fc.assert(
      fc.property(
        fc.constantFrom(...texts),
        fc.nat(),
        fc.nat(40),
        fc.string({maxLength: 8}),
        (text, at, cut, put) => {
          const place = at % text.length;
          const damaged = text.slice(0, place) + put + text.slice(place + cut);
          try {
            const log = readLogBytes(Buffer.from(damaged, "latin1"), {name: "damaged.gpx"});
            assert.ok(log.timeS.every(Number.isFinite));
          } catch (error) {
            assert.ok(error instanceof InputError, String((error as Error).stack));
          }
        },
      ),
      {numRuns: 400},
    );
  });
});
