import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {firstOrderLag, logPull} from "../../lib/simulate/logger.ts";
import {correlatedNoise, standardNoise} from "../../lib/simulate/noise.ts";
import {drivePull} from "../../lib/simulate/pull.ts";
import {roadGrade, roadHeightM} from "../../lib/simulate/road.ts";
import {SCENARIOS} from "../../lib/simulate/scenarios.ts";
import {drawPower} from "../../lib/simulate/variation.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {assertClose} from "../assert-close.ts";

const [DEMO] = SCENARIOS;

function moments(values: readonly number[]): {mean: number; sd: number; skewness: number} {
  const n = values.length;
  const mean = values.reduce((sum, value) => sum + value, 0) / n;
  const central = (power: number) => values.reduce((sum, value) => sum + (value - mean) ** power, 0) / n;
  const sd = Math.sqrt(central(2));
  return {mean, sd, skewness: central(3) / sd ** 3};
}

function lagOne(values: readonly number[]): number {
  const {mean, sd} = moments(values);
  let sum = 0;
  for (let i = 1; i < values.length; i++) sum += (values[i] - mean) * (values[i - 1] - mean);
  return sum / (values.length - 1) / sd ** 2;
}

describe("correlatedNoise", () => {
  it("has the spread and the correlation of an Ornstein–Uhlenbeck process", () => {
    const n = 40_000;
    for (const correlationS of [0, 0.1, 1]) {
      const next = correlatedNoise(createRandom(1, `noise ${correlationS}`), 0.5, correlationS, 0.1);
      const values = Array.from({length: n}, next);
      const keep = correlationS > 0 ? Math.exp(-0.1 / correlationS) : 0;
      // Standard errors of an AR(1) series: mean sd·√((1+φ)/(1−φ)/n), sd sd·√((1+φ²)/(1−φ²)/2n), φ √((1−φ²)/n); four of each.
      const {mean, sd} = moments(values);
      assertClose(mean, 0, 4 * 0.5 * Math.sqrt((1 + keep) / (1 - keep) / n));
      assertClose(sd, 0.5, 4 * 0.5 * Math.sqrt((1 + keep ** 2) / (1 - keep ** 2) / (2 * n)));
      assertClose(lagOne(values), keep, 4 * Math.sqrt((1 - keep ** 2) / n));
    }
  });
  it("starts with its full spread, not at zero", () => {
    const firsts = Array.from({length: 4000}, (_, i) =>
      correlatedNoise(createRandom(i, "first"), 1, 10, 0.1)(),
    );
    assertClose(moments(firsts).sd, 1, 4 / Math.sqrt(2 * 4000)); // four standard errors of a standard deviation
  });
  it("draws nothing where there is none", () => {
    const random = createRandom(1, "none");
    assert.equal(correlatedNoise(random, 0, 1, 0.1)(), 0);
    assert.equal(random.uniform(), createRandom(1, "none").uniform());
  });
});

describe("standardNoise", () => {
  it("has mean 0, spread 1 and the skewness it names", () => {
    const n = 40_000;
    for (const [shape, skewness, kurtosis] of [
      ["normal", 0, 3],
      ["skewed", -Math.SQRT2, 6], // chi-square of k = 4 degrees of freedom: skewness √(8/k), kurtosis 3 + 12/k
    ] as const) {
      const random = createRandom(3, shape);
      const got = moments(Array.from({length: n}, () => standardNoise(random, shape)));
      assertClose(got.mean, 0, 4 / Math.sqrt(n));
      assertClose(got.sd, 1, 4 * Math.sqrt((kurtosis - 1) / 4 / n));
      assertClose(got.skewness, skewness, 0.12); // about four standard errors of the skewed one, by repetition
    }
  });
});

describe("drawPower", () => {
  const none = {...DEMO.variation, runSd: 0, heatLoss: 0};
  const arms = ["baseline", "changed", "changed", "baseline"] as const;
  const day = {arms, minutes: [0, 10, 20, 30], fittings: [1, 2, 2, 3]};
  const factors = (power: number, variation: Partial<typeof none>, seed = 1) =>
    drawPower({power, variation: {...none, ...variation}}, day, createRandom(seed, "power")).map(
      run => run.powerFactor,
    );

  it("gives the part to the changed arm alone", () => {
    assert.deepEqual(factors(0.03, {}), [1, 1.03, 1.03, 1]);
  });
  it("loses power from run to run by drift and by heat", () => {
    assert.deepEqual(factors(0, {driftLoss: 0.003}), [1, 1 - 0.003, 1 - 0.006, 1 - 3 * 0.003]);
    // By hand: heat before a run is what e^(−10/12) leaves of all pulls before, x, x + x², x + x² + x³.
    const x = Math.exp(-10 / 12);
    factors(0, {heatLoss: 0.004}).forEach((factor, i) => {
      assertClose(factor, 1 - 0.004 * [0, x, x + x ** 2, x + x ** 2 + x ** 3][i], 1e-15);
    });
  });
  it("leaves a share of the part behind in the first run after a change", () => {
    factors(0.04, {carryOver: 0.25}).forEach((factor, i) => {
      assertClose(factor, [1, 1.03, 1.04, 1.01][i], 1e-15);
    });
  });
  it("gives the runs of one fitting the same deviation", () => {
    const got = factors(0, {fittingSd: 0.01});
    assert.equal(got[1], got[2]);
    assert.equal(new Set(got).size, 3);
  });
  it("draws spread, correlation and bad runs as told", () => {
    const n = 20_000;
    const long = {
      arms: Array.from({length: n}, () => "baseline" as const),
      minutes: Array.from({length: n}, (_, i) => 10 * i),
      fittings: new Array<number>(n).fill(1),
    };
    const draw = (variation: Partial<typeof none>) =>
      drawPower({power: 0, variation: {...none, ...variation}}, long, createRandom(4, "long"));
    const correlated = draw({runSd: 0.008, lagOne: 0.6}).map(run => run.powerFactor);
    assertClose(moments(correlated).sd, 0.008, 0.008 * 4 * Math.sqrt((1 + 0.36) / (1 - 0.36) / (2 * n)));
    assertClose(lagOne(correlated), 0.6, 4 * Math.sqrt((1 - 0.36) / n));
    const bad = draw({badShare: 0.08, badLoss: 0.03}).filter(run => run.bad);
    assertClose(bad.length / n, 0.08, 4 * Math.sqrt((0.08 * 0.92) / n));
    assert.ok(bad.every(run => run.powerFactor <= 1 - 0.015 && run.powerFactor >= 1 - 0.045));
  });
});

describe("logPull", () => {
  const pull = drivePull({
    ...DEMO,
    massKg: 1280,
    dragAreaM2: 0.64,
    airDensityKgM3: 1.2,
    powerFactor: 1,
    rollInMps: 13.9,
    throttleS: 60, // a long roll-in, to count noise in
    rateHz: 10,
    gradeAt: () => 0,
    headwindAt: () => 0,
  });
  const setting = {
    road: DEMO.road,
    direction: "out" as const,
    logger: DEMO.logger,
    startM: 0,
    heightOffsetM: 0,
  };

  it("lags a ramp by its time constant and smooths nothing at zero", () => {
    const ramp = Float64Array.from({length: 100}, (_, i) => 2 * i * 0.1);
    const lagged = firstOrderLag(ramp, 0.1, 0.3);
    assertClose(lagged[99], 2 * (9.9 - 0.3), 1e-12); // a first-order lag follows a ramp at τ times its slope
    assertClose(lagged[1], 0.2 - 0.6 * (1 - Math.exp(-1 / 3)), 1e-12); // its step response integrated, from rest
    assert.equal(firstOrderLag(ramp, 0.1, 0), ramp);
  });
  it("adds the noise that it names", () => {
    const errors = (name: "speedMps" | "heightM", seed: number) => {
      const log = logPull(pull, setting, createRandom(seed, "logger"));
      const truth = (i: number) =>
        name === "speedMps" ? pull.speedMps[i] : roadHeightM(DEMO.road, 60 + pull.distanceM[i]);
      return Array.from({length: 590}, (_, i) => log[name][i] - truth(i));
    };
    const seeds = Array.from({length: 60}, (_, i) => i);
    const speed = moments(seeds.flatMap(seed => errors("speedMps", seed)));
    // 0.02 correlated and 0.03 white, and a rounding step of 0.01 km/h over √12; bound: four standard errors of 60 records
    // with some 590/30 independent values of the slow part each.
    assertClose(speed.sd, Math.hypot(0.02, 0.03, 0.01 / 3.6 / Math.sqrt(12)), 0.0012);
    assertClose(speed.mean, 0, 0.0024);
    const height = moments(seeds.flatMap(seed => errors("heightM", seed)));
    assertClose(height.sd, 0.3, 0.06);
  });
  it("lays the run along the road, out and back, at the decimals of its file", () => {
    const exact = {...DEMO.logger, correlatedSdMps: 0, whiteSdMps: 0, positionSdM: 0, smoothingS: 0};
    const n = pull.timeS.length;
    for (const direction of ["out", "back"] as const) {
      const log = logPull(pull, {...setting, direction, logger: exact}, createRandom(1, "logger"));
      const north = (log.latitudeDeg[n - 1] - log.latitudeDeg[0]) * 111_195; // one degree, 6371.009 km · π/180
      const east =
        (log.longitudeDeg[n - 1] - log.longitudeDeg[0]) * 111_195 * Math.cos((47.25 * Math.PI) / 180);
      assertClose(Math.hypot(north, east), pull.distanceM[n - 1], 0.05); // 7 decimals of a degree are 1 cm
      assertClose(
        ((Math.atan2(east, north) * 180) / Math.PI + 360) % 360,
        direction === "out" ? 74 : 254,
        0.01,
      );
      for (let i = 0; i < n; i++) {
        assertClose(log.speedMps[i], pull.speedMps[i], 0.005 / 3.6 + 1e-12);
        assert.equal((Number((log.speedMps[i] * 3.6).toFixed(2)) * 5) / 18, log.speedMps[i]);
        assert.ok(log.satellites[i] >= 9 && log.satellites[i] <= 16 && log.hdop[i] > 0.6 && log.hdop[i] < 1);
      }
    }
  });
});

describe("the road", () => {
  it("has the slope of its height", () => {
    for (let place = 0; place < 1200; place += 37) {
      // central difference over 2 cm: error h²/6 · h''' < 1e-8
      const slope = (roadHeightM(DEMO.road, place + 0.01) - roadHeightM(DEMO.road, place - 0.01)) / 0.02;
      assertClose(roadGrade(DEMO.road, place), slope, 1e-8);
    }
  });
});
