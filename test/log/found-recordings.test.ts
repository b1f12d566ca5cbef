import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {requireChannel} from "../../lib/log/channel.ts";
import {readLogBytes} from "../../lib/log/read.ts";
import {passesOfLog} from "../../lib/run/passes.ts";
import {assertClose} from "../assert-close.ts";
import {FALL_S, RECORDINGS, RISE_S, speedKmh} from "./found-recordings.ts";

const BAND = {fromMps: 60 / 3.6, toMps: 100 / 3.6, unit: "km/h", gear: null};

describe("a recording as it is found, read without any option", () => {
  for (const found of RECORDINGS) {
    it(found.name, () => {
      const log = readLogBytes(found.bytes, {name: "found.csv"});
      assert.equal(log.timeS.length, found.rows ?? 281);
      const speed = requireChannel(log, "speed");
      assert.equal(speed.column, found.speed);
      assert.equal(speed.valid, found.valid ?? log.timeS.length);
      for (const [i, value] of speed.values.entries()) {
        if (Number.isNaN(value)) continue;
        assertClose(
          value,
          speedKmh(log.timeS[i] - log.timeS[0]) / 3.6,
          found.withinMps ?? 0.0002,
          `row ${i}`,
        );
      }
      const called: Record<string, string> = {};
      for (const column of Object.values(found.channels ?? {})) {
        const channel = log.channels.find(other => other.column === column);
        assert.ok(channel, `a column "${column}"`);
        called[channel.name] = column;
      }
      assert.deepEqual(called, found.channels ?? {});
      if (found.clockZeroS !== undefined) assertClose(log.clockZeroS!, found.clockZeroS, 1e-3, "clock");
      const within = found.withinS ?? 0.001;
      const rise = passesOfLog(log, BAND);
      assert.equal(rise.length, 1);
      assertClose(rise[0].elapsedS, RISE_S, within, "60 to 100 km/h");
      const fall = passesOfLog(log, {...BAND, fromMps: BAND.toMps, toMps: BAND.fromMps});
      assert.equal(fall.length, 1);
      assertClose(fall[0].elapsedS, FALL_S, within, "100 to 60 km/h");
    });
  }
});
