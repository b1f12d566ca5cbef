import assert from "node:assert/strict";
import {readFileSync} from "node:fs";
import fc from "fast-check";
import {describe, it} from "vitest";
import {requireSeries} from "../../lib/series/check.ts";
import {crossingTime} from "../../lib/series/crossing.ts";
import {integral} from "../../lib/series/integral.ts";
import {interpolateAt} from "../../lib/series/interpolate.ts";
import {levelPasses} from "../../lib/series/passes.ts";
import {defaultMaxGapS, gapsLongerThan, medianStepS} from "../../lib/series/steps.ts";
import {assertClose} from "../assert-close.ts";

// Rows B6 of straight-line motion: closed forms and exact fractions, recomputed independently.
const {rows} = JSON.parse(readFileSync(new URL("../reference/motion.json", import.meta.url), "utf8"));
const row = (id: string) => rows.find((candidate: {id: string}) => candidate.id === id);
const KMH = 1 / 3.6;

describe("crossingTime", () => {
  it("is exact under constant acceleration", () => {
    // By hand: v = 3 t, so 15 m/s at t = 5 s; a straight trace has no interpolation error.
    assert.equal(crossingTime([0, 4, 8], [0, 12, 24], 15), 5);
  });
  it("meets the exact fractions of the worked example", () => {
    const {inputs, expected, tolerance} = row("B6-crossing");
    const t60 = crossingTime(inputs.t_s, inputs.v_kmh, 60)!;
    const t63 = crossingTime(inputs.t_s, inputs.v_kmh, 63)!;
    assertClose(t60, expected.t_at_60, tolerance.abs);
    assertClose(t63, expected.t_at_63, tolerance.abs);
    assertClose(t63 - t60, expected.band_60_63, tolerance.abs);
  });
  it("has the published interpolation error on a curved trace", () => {
    const {expected, tolerance} = row("B6-crossing-bias");
    const band = (hz: number): number => {
      const timeS = Array.from({length: 8 * hz + 1}, (_, i) => i / hz);
      const speed = timeS.map(t => 50 + 10 * t - 0.25 * t * t);
      return crossingTime(timeS, speed, 90)! - crossingTime(timeS, speed, 60)!;
    };
    assertClose(band(10), expected.linear_10Hz_band, tolerance.abs);
    assertClose(band(1), expected.linear_1Hz_band, tolerance.abs);
    // the stated bound |v''| h²/(8 v'), both ends: 0.5/8 · h² · (1/v'(t60) + 1/v'(t90)), slopes 9.49 and 7.75 km/h/s
    assert.ok(Math.abs(band(1) - expected.exact_band) <= (0.5 / 8) * (1 / 9.4 + 1 / 7.4));
  });
  it("is null where the crossing was not recorded", () => {
    assert.equal(crossingTime([0, 1], [15, 20], 15), null);
    assert.equal(crossingTime([0, 1], [10, 14], 15), null);
  });
  it("names both samples when time runs backwards", () => {
    assert.throws(() => crossingTime([0, 0.2, 0.1], [0, 1, 2], 1.5), {
      name: "RangeError",
      message: /sample 2 \(0\.10 s\) does not come after sample 1 \(0\.20 s\)/,
    });
    assert.throws(() => crossingTime([0, 0.2001, 0.2], [0, 1, 2], 1.5), {
      message: /2 \(0\.2000 s\).* 1 \(0\.2001 s\)/,
    });
  });
});

describe("requireSeries", () => {
  it("names what is wrong", () => {
    assert.throws(() => requireSeries("f", [0, 1], [1]), {
      message: /f: every sample needs a time, but there are 2 times and 1 values/,
    });
    assert.throws(() => requireSeries("f", [0], [1]), {message: /at least 2 samples are needed, found 1/});
    assert.throws(() => requireSeries("f", [0, Number.NaN], [1, 1]), {
      message: /time must be finite, but sample 1 is NaN/,
    });
    assert.throws(() => requireSeries("f", [0, 1], [1, Infinity]), {
      message: /values must be finite, but sample 1 is Infinity/,
    });
    assert.throws(() => requireSeries("f", [1, 1], [1, 1]), {
      message: /sample 1 \(1\.00 s\) does not come after sample 0/,
    });
  });
});

describe("interpolateAt and integral", () => {
  it("read the straight lines between samples", () => {
    const timeS = [0, 1, 3];
    const values = [0, 2, 6];
    assert.equal(interpolateAt(timeS, values, 0), 0);
    assert.equal(interpolateAt(timeS, values, 2), 4);
    assert.equal(interpolateAt(timeS, values, 3), 6);
    assert.equal(interpolateAt(timeS, values, 3.1), null);
    // By hand: the trace is 2 t, so ∫ from 0.5 to 2.5 = 2.5² − 0.5² = 6.
    assert.equal(integral(timeS, values, 0.5, 2.5), 6);
    assert.equal(integral(timeS, values, 1, 1), 0);
    assert.equal(integral(timeS, values, -1, 1), null);
    assert.throws(() => integral(timeS, values, 2, 1), {message: /must not run backwards, found 2 s to 1 s/});
  });
  it("adds up over neighbouring spans", () => {
    const trace = fc.array(
      fc.tuple(fc.double({min: 0.01, max: 5, noNaN: true}), fc.double({min: -50, max: 50, noNaN: true})),
      {minLength: 3, maxLength: 20},
    );
    const cuts = fc.tuple(fc.double({min: 0, max: 1, noNaN: true}), fc.double({min: 0, max: 1, noNaN: true}));
    fc.assert(
      fc.property(trace, cuts, (steps, [a, b]) => {
        let t = 0;
        const timeS = steps.map(([step]) => (t += step));
        const values = steps.map(([, value]) => value);
        const span = timeS[timeS.length - 1] - timeS[0];
        const [from, to] = [Math.min(a, b), Math.max(a, b)].map(x => timeS[0] + x * span * (1 - 1e-12));
        const end = timeS[timeS.length - 1];
        const parts =
          integral(timeS, values, timeS[0], from)! +
          integral(timeS, values, from, to)! +
          integral(timeS, values, to, end)!;
        // rounding only: 100 operations on values of size 50 × 100 s
        assertClose(parts, integral(timeS, values, timeS[0], end)!, 100 * 5000 * 2 ** -52);
      }),
      {seed: 3, numRuns: 300},
    );
  });
});

describe("levelPasses", () => {
  it("gives time and distance of a pull at constant power", () => {
    // B6-constpower: t = m (v2² − v1²)/(2P), x = m (v2³ − v1³)/(3P), closed form.
    for (const pull of row("B6-constpower").cases) {
      const scale = pull.v1_kmh === undefined ? 0.44704 : KMH;
      const v1 = (pull.v1_kmh ?? pull.v1_mph) * scale;
      const v2 = (pull.v2_kmh ?? pull.v2_mph) * scale;
      if (v1 === 0) continue; // from standstill acceleration is infinite in the model
      const perMass = (2 * pull.P_W) / pull.m_kg;
      const hz = 1000;
      const t0 = ((v1 - 1) * (v1 - 1)) / perMass;
      const timeS = Array.from({length: Math.ceil((pull.t_s + 2) * hz)}, (_, i) => i / hz);
      const speedMps = timeS.map(t => Math.sqrt(perMass * (t + t0)));
      const passes = levelPasses(timeS, speedMps, v1, v2, {maxGapS: 0.5});
      assert.equal(passes.length, 1);
      // j h²/8 over the slope: j = P²/(m² v³) < 1 m/s³, slope > 1 m/s², h = 1 ms: below 2e-7 s at each end
      assertClose(passes[0].endS - passes[0].startS, pull.t_s, 4e-7);
      if (pull.x_m !== undefined)
        assertClose(integral(timeS, speedMps, passes[0].startS, passes[0].endS)!, pull.x_m, 4e-5);
    }
  });
  const levels = (values: number[], from = 10, to = 20, maxGapS = 2) =>
    levelPasses(
      values.map((_, i) => i),
      values,
      from,
      to,
      {maxGapS},
    ).map(pass => [pass.startS, pass.endS]);
  it("starts at the last crossing of A before B", () => {
    assert.deepEqual(levels([8, 12, 8, 12, 16, 20]), [[2.5, 5]]);
  });
  it("needs a new crossing of A after B", () => {
    assert.deepEqual(levels([8, 12, 22, 18, 22]), [[0.5, 1.8]]);
    assert.deepEqual(levels([8, 12, 22, 8, 12, 22]), [
      [0.5, 1.8],
      [3.5, 4.8],
    ]);
  });
  it("counts a sample exactly on a level as reached", () => {
    assert.deepEqual(levels([9, 10, 20]), [[1, 2]]);
    assert.deepEqual(levels([10, 10, 20]), []); // never below A
  });
  it("does both crossings within one step", () => {
    assert.deepEqual(levels([0, 40]), [[0.25, 0.5]]);
  });
  it("falls for A > B", () => {
    assert.deepEqual(levels([22, 18, 8], 20, 10), [[0.5, 1.8]]);
    assert.deepEqual(levels([8, 12, 22], 20, 10), []);
  });
  it("never bridges a step longer than the gap", () => {
    assert.deepEqual(levelPasses([0, 1, 4, 5], [8, 12, 16, 22], 10, 20, {maxGapS: 2}), []);
    assert.equal(levelPasses([0, 1, 4, 5], [8, 12, 16, 22], 10, 20, {maxGapS: 3}).length, 1);
  });
  it("gives what the plain rule gives", () => {
    fc.assert(
      fc.property(
        fc.array(fc.integer({min: 0, max: 30}), {minLength: 2, maxLength: 60}),
        fc.boolean(),
        (values, falls) => {
          const timeS = values.map((_, i) => i);
          const [from, to] = falls ? [20, 10] : [10, 20];
          const found = levelPasses(timeS, values, from, to, {maxGapS: 1.5}).map(pass => [
            pass.startIndex,
            pass.endIndex,
          ]);
          assert.deepEqual(found, plainPasses(values, from, to));
        },
      ),
      {seed: 4, numRuns: 2000},
    );
  });
  it("moves with time and does not mind scaling", () => {
    fc.assert(
      fc.property(
        fc.array(fc.integer({min: 0, max: 30}), {minLength: 2, maxLength: 40}),
        fc.integer({min: -1000, max: 1000}),
        (values, shift) => {
          const timeS = values.map((_, i) => i);
          const passes = levelPasses(timeS, values, 10, 20, {maxGapS: 1.5});
          const moved = levelPasses(
            timeS.map(t => t + shift),
            values.map(v => 4 * v),
            40,
            80,
            {maxGapS: 1.5},
          );
          assert.equal(moved.length, passes.length);
          for (const [k, pass] of passes.entries()) {
            assertClose(moved[k].endS - moved[k].startS, pass.endS - pass.startS, 1e-9);
          }
        },
      ),
      {seed: 5, numRuns: 300},
    );
  });
  it("refuses levels and gaps that make no sense", () => {
    assert.throws(() => levelPasses([0, 1], [0, 1], 1, 1, {maxGapS: 1}), {
      message: /two different finite levels/,
    });
    assert.throws(() => levelPasses([0, 1], [0, 1], 0, 1, {maxGapS: 0}), {
      message: /must be positive, found 0 s/,
    });
  });
});

/** The rule, written down word by word: for every crossing of B look back for the last crossing of A. */
function plainPasses(values: number[], from: number, to: number): number[][] {
  const sign = to > from ? 1 : -1;
  const crosses = (i: number, level: number) =>
    sign * values[i - 1] < sign * level && sign * values[i] >= sign * level;
  const passes: number[][] = [];
  let armed = 1;
  for (let end = 1; end < values.length; end++) {
    if (!crosses(end, to)) continue;
    for (let start = end; start >= armed; start--) {
      if (start < end && sign * values[start] < sign * from) break; // fell below A in between
      if (crosses(start, from)) {
        passes.push([start, end]);
        armed = end + 1;
        break;
      }
    }
  }
  return passes;
}

describe("steps", () => {
  it("gives median step, default gap and gaps", () => {
    const timeS = [0, 0.2, 0.4, 0.6, 5, 5.2];
    assertClose(medianStepS(timeS), 0.2, 1e-12);
    assertClose(defaultMaxGapS(timeS), 1, 1e-12);
    assert.equal(defaultMaxGapS([0, 0.01, 0.02]), 0.5);
    assert.equal(gapsLongerThan(timeS, 1).length, 1);
    assert.equal(gapsLongerThan(timeS, 1)[0].atS, 0.6);
    assert.throws(() => medianStepS([1]), {message: /at least 2 samples/});
  });
});
