import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {withDerivedSpeed} from "../../lib/log/derived-speed.ts";
import type {Channel, Log} from "../../lib/result/log.ts";
import {bandOf} from "../../lib/run/band.ts";
import {passesOfLog} from "../../lib/run/passes.ts";
import {createRandom} from "../../lib/stats/random.ts";

const BAND = bandOf("60 km/h", "110 km/h");
const TRUE_S = 125 / 18; // 2 m/s²
/** metres a degree of latitude at 48° on WGS 84 */
const DEGREE_M = 111_192;

function channel(name: string, values: Float64Array, unit: string): Channel {
  return {name, column: name, unit, valueUnit: unit, kind: "number", values, valid: values.length};
}

/** v = 10 + 2 t from t = 0, at `hz`, with white errors of position or of speed. */
function log(hz: number, names: ("position" | "speed")[], noise: () => number): Log {
  const timeS = Float64Array.from({length: 14 * hz}, (_, i) => i / hz);
  const latitude = timeS.map(t => 48 + (10 * t + t * t + noise()) / DEGREE_M);
  return withDerivedSpeed({
    file: "log",
    format: "",
    timeS,
    timeZero: "elapsed",
    clockZeroS: null,
    channels: names.flatMap(name =>
      name === "speed"
        ? [
            channel(
              "speed",
              timeS.map(t => 10 + 2 * t),
              "m/s",
            ),
          ]
        : [
            channel("latitude", latitude, "deg"),
            channel(
              "longitude",
              timeS.map(() => 11),
              "deg",
            ),
          ],
    ),
    unread: {rows: [], columns: []},
    guesses: [],
    sha256: "0".repeat(64),
  });
}

describe("a pass by speed from positions", () => {
  it("has a larger uncertainty than one by the receiver's own speed, however smooth the positions", () => {
    const [own] = passesOfLog(
      log(5, ["speed"], () => 0),
      BAND,
    );
    const [derived] = passesOfLog(
      log(5, ["position"], () => 0),
      BAND,
    );
    // Floor of 0.2 m/s at both ends over 2 m/s², neighbours taken as erring alike: √2 · 0.2 / 2 = 0.14 s
    assert.ok(own.elapsedUS < 0.05 && derived.elapsedUS > 0.12, `${own.elapsedUS} ${derived.elapsedUS}`);
    assert.ok(derived.flags.includes("derived-speed") && !own.flags.includes("derived-speed"));
  });
  it("covers the truth at least as often as it says, with white errors of position", () => {
    const random = createRandom(7, "derived");
    for (const [hz, sigmaM] of [
      [1, 0.6],
      [2, 0.5],
      [5, 0.3],
    ]) {
      let [inside, found] = [0, 0];
      for (let k = 0; k < 200; k++) {
        const passes = passesOfLog(
          log(hz, ["position"], () => sigmaM * random.normal()),
          BAND,
        );
        if (passes.length !== 1) continue; // the last up-crossing may fall among wild values
        found++;
        if (Math.abs(passes[0].elapsedS - TRUE_S) <= 2 * passes[0].elapsedUS) inside++;
      }
      assert.ok(found > 150, `${found} passes at ${hz} Hz`);
      // 95 % at k = 2 for a normal error; four binomial standard errors of 200 below it
      assert.ok(
        inside / found >= 0.95 - 4 * Math.sqrt((0.95 * 0.05) / found),
        `${inside} of ${found} at ${hz} Hz`,
      );
    }
  });
});
