import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {chooseBandwidth, localPolynomial} from "../../lib/series/local-polynomial.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {assertClose} from "../assert-close.ts";

/** Times with uneven steps. */
const uneven = (n: number, seed = 1): number[] => {
  const random = createRandom(seed, "uneven");
  let at = 0;
  return Array.from({length: n}, () => {
    at += 0.05 + 0.1 * random.uniform();
    return at;
  });
};

describe("localPolynomial", () => {
  it("is exact for polynomials of its order, on uneven steps and at the ends", () => {
    // By hand: v = 3 + 2 t − 0.5 t² has slope 2 − t; t³ has slope 3 t².
    const times = uneven(60);
    const square = localPolynomial(
      times,
      times.map(t => 3 + 2 * t - 0.5 * t * t),
      {halfWidthS: 0.6},
    );
    for (const [i, t] of times.entries()) {
      assertClose(square.values[i], 3 + 2 * t - 0.5 * t * t, 1e-9);
      assertClose(square.slopes[i], 2 - t, 1e-8);
    }
    const cube = localPolynomial(
      times,
      times.map(t => t ** 3),
      {halfWidthS: 0.8, order: 3},
    );
    for (const [i, t] of times.entries()) assertClose(cube.slopes[i], 3 * t * t, 1e-7);
  });
  it("tells what white noise leaves in a slope", () => {
    const times = uneven(80);
    const random = createRandom(2, "noise");
    const trials = 400;
    const at = [0, 40];
    const squares = [0, 0];
    let gains: Float64Array | null = null;
    for (let k = 0; k < trials; k++) {
      const fit = localPolynomial(
        times,
        times.map(() => random.normal()),
        {halfWidthS: 0.5},
      );
      gains = fit.slopeGains;
      for (const [j, i] of at.entries()) squares[j] += fit.slopes[i] ** 2 / trials;
    }
    // A standard deviation from 400 draws is good to 1/√800 = 3.5 %; four of them.
    for (const [j, i] of at.entries()) assertClose(Math.sqrt(squares[j]), gains![i], {rel: 0.14});
  });
  it("refuses what cannot be smoothed", () => {
    assert.throws(() => localPolynomial([0, 1, 2], [1, 2, 3], {halfWidthS: 1}), {
      message: /order 2 needs 4 samples, found 3/,
    });
    assert.throws(() => localPolynomial([0, 1, 2, 3], [1, 2, 3, 4], {halfWidthS: 0}), {
      message: /half width must be positive/,
    });
    assert.throws(() => localPolynomial([0, 1, 2, 3], [1, 2, 3, 4], {halfWidthS: 1, order: 5}), {
      message: /order must be 1 to 4, found 5/,
    });
  });
});

describe("chooseBandwidth", () => {
  const times = Array.from({length: 100}, (_, i) => i / 10);
  const course = times.map(t => 16 + 3 * t - 0.1 * t * t + 0.3 * Math.sin(t));

  it("goes narrow without noise and wider with it, and is near the best width", () => {
    const random = createRandom(3, "noise");
    const noisy = course.map(v => v + 0.05 * random.normal());
    const quiet = chooseBandwidth(times, course);
    const chosen = chooseBandwidth(times, noisy);
    assert.ok(quiet.halfWidthS < chosen.halfWidthS, `${quiet.halfWidthS} < ${chosen.halfWidthS}`);
    assertClose(chosen.noiseOfValues, 0.05, 0.02); // a median of some 97 third differences
    const truth = times.map(t => 3 - 0.2 * t + 0.3 * Math.cos(t));
    const error = (halfWidthS: number) => {
      const {slopes} = localPolynomial(times, noisy, {halfWidthS});
      let sum = 0;
      for (let i = 20; i < 80; i++) sum += (slopes[i] - truth[i]) ** 2;
      return Math.sqrt(sum / 60);
    };
    const best = Math.min(...[0.3, 0.4, 0.5, 0.65, 0.85, 1.1, 1.4, 1.9, 2.4].map(error));
    assert.ok(error(chosen.halfWidthS) < 2 * best, `${error(chosen.halfWidthS)} beside the best ${best}`);
    // and it says about how far off it is
    assertClose(Math.hypot(chosen.noise, chosen.bias), error(chosen.halfWidthS), {rel: 0.7});
  });
  it("refuses a series too short to judge", () => {
    assert.throws(() => chooseBandwidth([0, 1, 2], [1, 2, 3]), {
      message: /at least 12 samples are needed, found 3/,
    });
  });
});
