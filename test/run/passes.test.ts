import assert from "node:assert/strict";
import fc from "fast-check";
import {describe, it} from "vitest";
import {bandOf} from "../../lib/run/band.ts";
import {passesThroughBand} from "../../lib/run/passes.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {assertClose} from "../assert-close.ts";

const BAND = bandOf("60 km/h", "110 km/h");

/** Speed every millisecond of a pull at constant power against drag, dv/dt = P/(m v) − F0/m − F2/m v², by the midpoint rule. */
const FINE_MPS = (() => {
  const slope = (v: number) => 66 / v - 0.12 - 0.0003 * v * v;
  const speeds = [12];
  for (let i = 0; i < 16_000; i++) {
    const v = speeds[i];
    speeds.push(v + 0.001 * slope(v + 0.0005 * slope(v)));
  }
  return speeds;
})();

/** That pull as a logger samples it, `phase` [s] later than the start. */
function pull({hz = 10, phase = 0, seconds = 12}): {timeS: Float64Array; speedMps: Float64Array} {
  const timeS = Float64Array.from({length: Math.floor(seconds * hz)}, (_, i) => i / hz);
  return {timeS, speedMps: timeS.map(t => FINE_MPS[Math.round((t + phase) * 1000)])};
}

const trueElapsed = (() => {
  const {timeS, speedMps} = pull({hz: 1000});
  return passesThroughBand(timeS, speedMps, BAND)[0].elapsedS;
})();

describe("passesThroughBand", () => {
  it("gives time, distance and samples of a steady pull", () => {
    // By hand: v = 10 + 2 t, so 60 km/h (16.667 m/s) at 3.3333 s and 110 km/h (30.556 m/s) at 10.2778 s;
    // distance = mean speed × time = 23.6111 × 6.94444 = 163.966 m; samples at 3.4 … 10.2 s: 69.
    const timeS = Float64Array.from({length: 150}, (_, i) => i / 10);
    const speedMps = timeS.map(t => 10 + 2 * t);
    const passes = passesThroughBand(timeS, speedMps, BAND);
    assert.equal(passes.length, 1);
    assertClose(passes[0].startS, 10 / 3, 1e-12);
    assertClose(passes[0].elapsedS, 125 / 18, 1e-12);
    assertClose(passes[0].distanceM, (85 / 3.6) * (125 / 18), 1e-9);
    assert.equal(passes[0].samples, 69);
    assert.deepEqual(passes[0].flags, []);
  });
  it("leaves out samples without a speed and says nothing false about gaps", () => {
    const timeS = Float64Array.from({length: 150}, (_, i) => i / 10);
    const speedMps = timeS.map((t, i) => (i % 2 ? Number.NaN : 10 + 2 * t)); // every other row belongs to another channel
    const [pass] = passesThroughBand(timeS, speedMps, BAND);
    assertClose(pass.elapsedS, 125 / 18, 1e-12);
    assert.deepEqual(pass.flags, []);
    assert.deepEqual(
      passesThroughBand(
        timeS,
        speedMps.map(() => Number.NaN),
        BAND,
      ),
      [],
    );
  });
  it("does falling bands as coastdowns", () => {
    const timeS = Float64Array.from({length: 100}, (_, i) => i / 2);
    const speedMps = timeS.map(t => 32 - 0.5 * t);
    const [pass] = passesThroughBand(timeS, speedMps, bandOf("110 km/h", "60 km/h"));
    // By hand: 13.8889 m/s at 0.5 m/s² = 27.7778 s
    assertClose(pass.elapsedS, 250 / 9, 1e-9);
    assert.deepEqual(passesThroughBand(timeS, speedMps, BAND), []);
  });
  it("does not mind a shift of time nor extra rows on the same straight lines", () => {
    const {timeS, speedMps} = pull({});
    fc.assert(
      fc.property(fc.integer({min: -10_000, max: 100_000}), shift => {
        const [moved] = passesThroughBand(
          timeS.map(t => t + shift),
          speedMps,
          BAND,
        );
        const [pass] = passesThroughBand(timeS, speedMps, BAND);
        assertClose(moved.elapsedS, pass.elapsedS, 1e-9); // 2⁻⁵³ · 10⁵ s is 1e-11 s
        assertClose(moved.elapsedUS, pass.elapsedUS, {rel: 1e-4});
        assert.deepEqual(moved.flags, pass.flags);
      }),
      {seed: 7, numRuns: 50},
    );
    const twice = Float64Array.from({length: 2 * timeS.length - 1}, (_, i) => i / 20);
    const between = twice.map((_, i) =>
      i % 2 ? (speedMps[(i - 1) / 2] + speedMps[(i + 1) / 2]) / 2 : speedMps[i / 2],
    );
    assertClose(
      passesThroughBand(twice, between, BAND)[0].elapsedS,
      passesThroughBand(timeS, speedMps, BAND)[0].elapsedS,
      1e-12,
    );
  });
  it("refuses a band at standstill and an empty one, in words", () => {
    assert.throws(() => bandOf("0 km/h", "100 km/h"), {
      name: "InputError",
      exitCode: 2,
      message: /touches standstill \(0 km\/h\); launch and slip swamp a part/,
    });
    assert.throws(
      () =>
        passesThroughBand(new Float64Array(2), new Float64Array(2), {
          fromMps: 30,
          toMps: 0,
          unit: "km/h",
          gear: null,
        }),
      {message: /standstill/},
    );
    assert.throws(() => bandOf("60 km/h", "60km/h"), {message: /starts and ends at 60 km\/h/});
    assert.throws(() => bandOf("60", "80 km/h"), {
      name: "InputError",
      message: /from: "60" has no unit/,
    });
  });
});

describe("elapsedUS", () => {
  /** Many noisy draws of one pull: rms error against the true time and rms of the uncertainties told. */
  function draws(
    count: number,
    make: (i: number, normal: () => number) => {timeS: Float64Array; speedMps: Float64Array},
  ) {
    const random = createRandom(20260101, "passes");
    let errors = 0;
    let told = 0;
    let n = 0;
    for (let i = 0; i < count; i++) {
      const {timeS, speedMps} = make(i, () => random.normal());
      for (const pass of passesThroughBand(timeS, speedMps, BAND)) {
        errors += (pass.elapsedS - trueElapsed) ** 2;
        told += pass.elapsedUS ** 2;
        n++;
      }
    }
    assert.equal(n, count);
    return {error: Math.sqrt(errors / n), told: Math.sqrt(told / n)};
  }
  const rounded = (step: number) => (v: number) => Math.round(v / step) * step;

  it("is 0.023 s for white noise of 0.045 m/s at 10 Hz in a band of about 5.6 s, and is the true spread", () => {
    assertClose(trueElapsed, 5.6, 0.25);
    const {error, told} = draws(600, (i, normal) => {
      const {timeS, speedMps} = pull({phase: (i % 100) / 1000});
      return {timeS, speedMps: speedMps.map(v => v + 0.045 * normal())};
    });
    assertClose(told, 0.023, 0.002);
    // 600 draws know a standard deviation to 1/√1200 = 2.9 %; 4 of these and the noise of s itself
    assertClose(told / error, 1, 0.15);
  });
  it("sees noise in which neighbours err alike", () => {
    // first-order autoregressive noise of 0.05 m/s with correlation 0.7 between samples 0.1 s apart
    const {error, told} = draws(600, (i, normal) => {
      const {timeS, speedMps} = pull({phase: (i % 100) / 1000});
      let noise = 0.05 * normal();
      return {
        timeS,
        speedMps: speedMps.map(v => {
          noise = 0.7 * noise + 0.05 * Math.sqrt(1 - 0.49) * normal();
          return v + noise;
        }),
      };
    });
    // at 0.4 s a correlation of 0.24 is left, which hides its share of the variance
    assert.ok(told >= 0.75 * error && told <= 1.2 * error, `told ${told}, error ${error}`);
  });
  it("covers speeds rounded to whole km/h", () => {
    const {error, told} = draws(300, (i, normal) => {
      const {timeS, speedMps} = pull({phase: (i % 100) / 1000});
      return {timeS, speedMps: speedMps.map(v => rounded(1 / 3.6)(v + 0.045 * normal()))};
    });
    assert.ok(told >= 0.85 * error && told <= 2 * error, `told ${told}, error ${error}`);
  });
  it("carries the refresh of values held over rows, not the row rate", () => {
    const {error, told} = draws(300, (i, normal) => {
      const {timeS, speedMps} = pull({hz: 50, phase: (i % 100) / 1000});
      const fresh = speedMps.map(v => v + 0.045 * normal());
      return {timeS, speedMps: fresh.map((_, k) => fresh[Math.max(0, k - ((k + i) % 20))])}; // refreshed every 0.4 s
    });
    assert.ok(told >= 0.85 * error && told <= 2 * error, `told ${told}, error ${error}`);
    assert.ok(told > 0.1, `${told}`); // 0.4 s/√6 = 0.16 s
  });
  it("grows for a 1 Hz recorder, which is no error", () => {
    const {error, told} = draws(300, (i, normal) => {
      const {timeS, speedMps} = pull({hz: 1, phase: (i % 90) / 100, seconds: 14});
      return {timeS, speedMps: speedMps.map(v => v + 0.045 * normal())};
    });
    assert.ok(told >= 0.85 * error && told <= 4 * error, `told ${told}, error ${error}`);
    const {timeS, speedMps} = pull({hz: 1});
    assert.deepEqual(passesThroughBand(timeS, speedMps, BAND)[0].flags, ["coarse-time"]);
  });
});

describe("flags", () => {
  interface Change {
    speed?: (v: number, i: number, all: Float64Array) => number;
    time?: (t: number, i: number) => number;
    hz?: number;
  }
  const flagsOf = ({speed = v => v, time = t => t, hz = 10}: Change, options = {}) => {
    const {timeS, speedMps} = pull({hz});
    return passesThroughBand(timeS.map(time), speedMps.map(speed), BAND, options).flatMap(pass => pass.flags);
  };
  it("are absent on a clean pull", () => {
    for (const hz of [2, 5, 10, 25, 100]) assert.deepEqual(flagsOf({hz}), [], `${hz} Hz`);
  });
  it("tell whole-number speed", () => {
    assert.deepEqual(flagsOf({speed: v => Math.round(v * 3.6) / 3.6}), ["coarse-speed"]);
    assert.deepEqual(flagsOf({speed: v => Math.round(v * 36) / 36}), []);
  });
  it("tell values held over rows", () => {
    assert.deepEqual(flagsOf({speed: (_, i, v) => v[i - (i % 4)], hz: 20}), ["held-samples"]);
  });
  it("tell a hole in the pass and end the pass at a longer one", () => {
    const hole = (length: number) => ({time: (t: number) => (t > 4 ? t + length : t)});
    assert.ok(flagsOf(hole(0.35)).includes("gap"));
    assert.deepEqual(flagsOf(hole(0.6)), []); // no pass at all
    assert.ok(flagsOf(hole(0.6), {maxGapS: 1}).includes("gap"));
  });
  it("tell acceleration that no car has", () => {
    assert.deepEqual(flagsOf({speed: (v, i) => (i > 40 ? v + 3 : v)}), ["implausible-acceleration"]);
  });
  it("tell a speed that stands and then jumps, and a lost zero", () => {
    const frozen = flagsOf({speed: (v, i, all) => (i > 5 && i < 30 ? all[5] : v)});
    assert.ok(frozen.includes("frozen-speed"), frozen.join());
    const zero = flagsOf({speed: (v, i) => (i === 6 ? 0 : v)});
    assert.ok(zero.includes("zero-speed"), zero.join());
  });
  it("tell a poor fix only where the receiver says so inside the pass", () => {
    const {timeS, speedMps} = pull({});
    const satellites = timeS.map(() => 9);
    const flags = () => passesThroughBand(timeS, speedMps, BAND, {fix: {satellites}})[0].flags;
    assert.deepEqual(flags(), []);
    satellites[0] = 3;
    assert.deepEqual(flags(), []); // before the pass
    satellites[40] = 4;
    assert.deepEqual(flags(), ["poor-fix"]);
  });
  it("tell rounded and shared time stamps", () => {
    assert.deepEqual(flagsOf({time: t => Math.floor(t * 10 + 1e-9) / 10, hz: 7}), ["coarse-time"]);
    assert.deepEqual(flagsOf({}, {sharedStamps: 3}), ["coarse-time"]);
  });
});
