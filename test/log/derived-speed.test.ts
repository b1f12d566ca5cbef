import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {DERIVED_SPEED_COLUMN, speedFromPositions, withDerivedSpeed} from "../../lib/log/derived-speed.ts";
import type {Log} from "../../lib/result/log.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {assertClose} from "../assert-close.ts";

/** One degree of the equator [m], 6 378 137 m · π/180: along it distance is exactly that of a circle. */
const DEGREE_M = (6_378_137 * Math.PI) / 180;
/** Positions on the equator at distances x(t). */
function along(timeS: number[], x: (t: number) => number) {
  return {latitude: timeS.map(() => 0), longitude: timeS.map(t => x(t) / DEGREE_M)};
}
const steps = (n: number, h: number) => Array.from({length: n}, (_, i) => i * h);

describe("speedFromPositions", () => {
  it("is exact under constant acceleration, whatever the steps", () => {
    // By hand: x = 10 t + t², v = 10 + 2 t.
    const timeS = [0, 1, 1.5, 3, 3.2, 4];
    const {latitude, longitude} = along(timeS, t => 10 * t + t * t);
    const {speedMps} = speedFromPositions(timeS, latitude, longitude);
    for (let i = 1; i < 5; i++) assertClose(speedMps[i], 10 + 2 * timeS[i], 1e-6); // 1 µm of distance over 0.2 s, weighed
    assert.ok(Number.isNaN(speedMps[0]) && Number.isNaN(speedMps[5]));
  });
  it("is off by j h²/6 where acceleration changes", () => {
    // By hand: x = t³/6 · j with j = 0.6; the central difference of t³ is 3 t² + h².
    const timeS = steps(12, 1);
    const {latitude, longitude} = along(timeS, t => 20 * t + 0.1 * t ** 3);
    const {speedMps} = speedFromPositions(timeS, latitude, longitude);
    for (let i = 1; i < 11; i++) assertClose(speedMps[i] - (20 + 0.3 * i * i), 0.6 / 6, 1e-6);
  });
  it("tells no speed across a gap, a change of segment, or without a position", () => {
    const timeS = [0, 1, 2, 3, 60, 61, 62, 63, 64, 65];
    const {latitude, longitude} = along(timeS, t => 20 * t);
    longitude[7] = Number.NaN;
    const known = (options: {segment?: number[]}) =>
      [...speedFromPositions(timeS, latitude, longitude, options).speedMps].flatMap((v, i) =>
        Number.isNaN(v) ? [] : [i],
      );
    assert.deepEqual(known({}), [1, 2, 5, 6, 8]);
    assert.deepEqual(known({segment: [1, 1, 2, 2, 2, 2, 2, 2, 2, 2]}), [5, 6, 8]);
  });
  it("takes one row a position where a logger repeats it", () => {
    const timeS = steps(60, 0.1);
    const {latitude, longitude} = along(timeS, t => 20 * Math.floor(t + 1e-9));
    const {speedMps} = speedFromPositions(timeS, latitude, longitude);
    const found = [...speedMps].flatMap((v, i) => (Number.isNaN(v) ? [] : [[i, Math.round(v * 1e6) / 1e6]]));
    assert.deepEqual(
      found,
      [10, 20, 30, 40].map(i => [i, 20]),
    );
  });
  it("states the scatter that it has", () => {
    // σ = 0.4 m of independent error along the road at 1 Hz: u = σ/(√2 h) = 0.283 m/s. The median absolute deviation of
    // 2000 dependent differences is good to about 4 %; four times that.
    const random = createRandom(11, "positions");
    const timeS = steps(2000, 1);
    const error = timeS.map(() => 0.4 * random.normal());
    const {latitude, longitude} = along(timeS, t => 30 * t + error[t]);
    const {speedMps, standardUncertaintyMps} = speedFromPositions(timeS, latitude, longitude);
    assertClose(standardUncertaintyMps!, 0.4 / Math.SQRT2, {rel: 0.16});
    let squares = 0;
    for (let i = 1; i < 1999; i++) squares += (speedMps[i] - 30) ** 2;
    assertClose(Math.sqrt(squares / 1998), standardUncertaintyMps!, {rel: 0.16});
  });
  it("refuses times that do not increase and lists of different lengths", () => {
    assert.throws(() => speedFromPositions([0, 1, 1], [0, 0, 0], [0, 1, 2]), {
      name: "RangeError",
      message: /sample 2 \(1 s\)/,
    });
    assert.throws(() => speedFromPositions([0, 1], [0, 0, 0], [0, 1, 2]), {
      name: "RangeError",
      message: /lengths differ/,
    });
  });
});

describe("withDerivedSpeed", () => {
  const timeS = Float64Array.from(steps(5, 1));
  const {latitude, longitude} = along([...timeS], t => 20 * t);
  const channel = (name: string, values: number[], valueUnit: string) => ({
    name,
    column: name,
    unit: valueUnit,
    valueUnit,
    kind: "number" as const,
    values: Float64Array.from(values),
    valid: values.length,
  });
  const log: Log = {
    file: "made.gpx",
    format: "GPX",
    timeS,
    timeZero: "first-sample",
    clockZeroS: null,
    channels: [channel("latitude", latitude, "deg"), channel("longitude", longitude, "deg")],
    unread: {rows: [], columns: []},
    guesses: [],
    sha256: "0".repeat(64),
  };
  it("adds a marked speed and says so", () => {
    const {channels, guesses} = withDerivedSpeed(log);
    const speed = channels.at(-1)!;
    assert.deepEqual(
      [speed.name, speed.column, speed.valueUnit, speed.valid],
      ["speed", DERIVED_SPEED_COLUMN, "m/s", 3],
    );
    assertClose(speed.values[2], 20, 1e-6);
    // too few fixes to see their scatter: 1 m is taken, over √2 · 1 s
    assertClose(speed.standardUncertainty!, Math.SQRT1_2, 1e-12);
    assert.deepEqual(guesses, [
      {
        what: "speed",
        chosen:
          "computed from positions, the file has none; standard uncertainty of one value 0.71 m/s, by their scatter",
        confidence: "weak",
      },
    ]);
  });
  it("leaves a log with a speed, or without positions, as it is", () => {
    const own = {...log, channels: [...log.channels, channel("speed", [1, 2, 3, 4, 5], "m/s")]};
    assert.equal(withDerivedSpeed(own), own);
    const blind = {...log, channels: log.channels.slice(0, 1)};
    assert.equal(withDerivedSpeed(blind), blind);
  });
});
