import assert from "node:assert/strict";
import fc from "fast-check";
import {describe, it} from "vitest";
import {type Alignment, alignSeries} from "../../lib/series/align.ts";
import {smoothedSlope} from "../../lib/series/slope.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {assertClose} from "../assert-close.ts";

/** A drive of several minutes with pulls and stops, defined at every moment [m/s]. */
const drive = (t: number) =>
  18 + 7 * Math.sin(t / 9) + 4 * Math.sin(t / 3.7 + 1) + 3 * Math.sin(t / 31 + 2) + 1.5 * Math.cos(t / 2.1);

function sampled(rateHz: number, fromS: number, toS: number, value: (t: number) => number) {
  const timeS = Float64Array.from(
    {length: Math.round((toS - fromS) * rateHz) + 1},
    (_, i) => fromS + i / rateHz,
  );
  return {timeS, values: timeS.map(value)};
}

function aligned(
  a: ReturnType<typeof sampled>,
  b: ReturnType<typeof sampled>,
  options = {},
): Alignment | null {
  return alignSeries(a.timeS, a.values, b.timeS, b.values, options);
}

describe("alignSeries", () => {
  it("finds lag and scale of a second clock to a part of a sample", () => {
    // By construction: b(t) = drive(t − lag)/scale. Straight lines between samples at 10 Hz shift nothing on average; the rates differ.
    for (const lagS of [0, 0.037, 12.3456, -40.02]) {
      const a = sampled(10, 5, 185, drive);
      const b = sampled(7, 5 + lagS - 20, 185 + lagS + 30, t => drive(t - lagS) / 1.025);
      const found = aligned(a, b)!;
      assertClose(found.lagS, lagS, 0.003, "lag"); // 2 % of the coarser step
      assertClose(found.scale, 1.025, 0.001, "scale"); // interpolation cuts h²v″/8 = 0.001 m/s off the waves
      assert.ok(found.correlation > 0.9999, String(found.correlation));
      assertClose(found.overlapS, 180, 1, "overlap");
      assert.ok(found.runnerUp! < 0.9, String(found.runnerUp));
    }
  });

  it("covers the true lag with its uncertainty under white noise", () => {
    // 200 drives; |error| < 2u holds for 95 % of normal errors, binomial standard error 1.5 %. The parabola's own error adds.
    const random = createRandom(31, "alignment");
    let covered = 0;
    let sum = 0;
    const n = 200;
    for (let k = 0; k < n; k++) {
      const lagS = 2 * random.uniform() - 1;
      const a = sampled(5, 0, 40, t => drive(t) + 0.15 * random.normal());
      const b = sampled(5, -3, 43, t => drive(t - lagS) + 0.15 * random.normal());
      const found = aligned(a, b)!;
      if (Math.abs(found.lagS - lagS) < 2 * found.lagUS) covered++;
      sum += found.lagUS;
    }
    assert.ok(covered / n > 0.89 && covered / n <= 1, `${covered} of ${n} covered, mean u ${sum / n}`);
  });

  it("shows that repeats of one pull fit nearly as well at the wrong place", () => {
    const pulls = (t: number) => 14 + 16 * Math.max(0, Math.sin(t / 6)) ** 2; // the same every 38 s
    const found = aligned(sampled(10, 0, 15, pulls), sampled(10, 0, 120, pulls))!;
    assert.ok(found.correlation - found.runnerUp! < 1e-3);
  });

  it("is null where overlap or spread is too small", () => {
    const steady = sampled(10, 0, 60, () => 20);
    assert.equal(aligned(steady, sampled(10, 0, 60, drive)), null);
    assert.equal(aligned(sampled(10, 0, 60, drive), steady), null);
    const faint = sampled(10, 0, 60, t => 20 + 0.1 * Math.sin(t / 5));
    assert.equal(aligned(faint, faint, {minSpread: 1}), null);
    assert.ok(aligned(faint, faint)!.correlation > 0.9999);
  });

  it("does not bridge a gap", () => {
    const a = sampled(10, 0, 100, drive);
    const keep = (t: number) => t < 30 || t > 60;
    const b = {timeS: a.timeS.filter(keep), values: a.values.filter((_, i) => keep(a.timeS[i]))};
    const found = aligned(a, b)!;
    assertClose(found.overlapS, 70, 1, "overlap");
    assertClose(found.lagS, 0, 0.003, "lag");
  });

  it("refuses what is no series", () => {
    const a = sampled(10, 0, 10, drive);
    assert.throws(() => alignSeries([0, 1, 1], [1, 2, 3], a.timeS, a.values), /time must increase/);
    assert.throws(() => aligned(a, a, {minOverlap: 0}), /minOverlap must be above 0/);
  });

  it("gives finite numbers or null for any two series", () => {
    const series = fc
      .array(
        fc.tuple(fc.double({min: 0.01, max: 3, noNaN: true}), fc.double({min: -50, max: 90, noNaN: true})),
        {
          minLength: 2,
          maxLength: 40,
        },
      )
      .map(rows => {
        let t = 0;
        return {
          timeS: Float64Array.from(rows, ([step]) => (t += step)),
          values: Float64Array.from(rows, row => row[1]),
        };
      });
    fc.assert(
      fc.property(series, series, (a, b) => {
        const found = aligned(a, b);
        if (found === null) return;
        for (const value of Object.values(found)) assert.ok(value === null || Number.isFinite(value));
        assert.ok(found.correlation <= 1 + 1e-9 && found.lagUS >= 0);
      }),
      {numRuns: 150},
    );
  });
});

describe("smoothedSlope", () => {
  it("is exact for a straight line whatever the steps, and in the middle of a parabola", () => {
    const timeS = [0, 0.1, 0.35, 0.4, 1, 1.3, 2.2, 2.5, 3];
    for (const value of smoothedSlope(
      timeS,
      timeS.map(t => 5 - 3 * t),
      0.5,
    ))
      assertClose(value, -3, 1e-9);
    // By hand: v = t², slope 2t inside; within a half window of the ends that of the nearest full window
    const fine = Array.from({length: 401}, (_, i) => i / 100);
    const slope = smoothedSlope(
      fine,
      fine.map(t => t * t),
      0.5,
    );
    assertClose(slope[200], 4, 1e-4); // straight lines between samples: h²/4
    assertClose(slope[0], 1, 1e-3);
    assertClose(slope[400], 7, 1e-3);
  });
  it("leaves the stated share of white noise", () => {
    const random = createRandom(5, "slope noise");
    const timeS = Float64Array.from({length: 20_000}, (_, i) => i / 10);
    const slope = smoothedSlope(
      timeS,
      timeS.map(() => 0.045 * random.normal()),
      0.5,
    );
    const sd = Math.sqrt(slope.reduce((sum, value) => sum + value * value, 0) / slope.length);
    // σ √(2/n)/w with n = 5: 0.057; the trapezium weights of six samples make it a little less
    assertClose(sd, 0.057, 0.006);
  });
  it("takes a series shorter than the window as one slope, and refuses a window that is none", () => {
    assert.deepEqual(
      [...smoothedSlope([0, 0.2], [1, 2], 0.5)].map(value => value.toFixed(6)),
      ["5.000000", "5.000000"],
    );
    assert.throws(() => smoothedSlope([0, 1], [0, 1], 0), /half window must be positive/);
  });
});
