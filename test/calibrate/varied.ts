import type {DayScenario} from "../../lib/simulate/scenario.ts";
import {scenarioNamed} from "../../lib/simulate/scenarios.ts";
import {createRandom} from "../../lib/stats/random.ts";

const KMH = 5 / 18;

/** Plans of a day out: what a club can drive in an afternoon. */
const PLANS: readonly DayScenario["plan"][] = [
  {order: "complete", runs: 8},
  {order: "complete", runs: 12},
  {order: "pairs", runs: 10},
  {order: "pairs", runs: 12},
  {order: "abba", runs: 8},
  {order: "abba", runs: 12},
  {order: "blocks-of-4", runs: 12},
  {order: "drift-balanced", runs: 12},
  {order: "drift-balanced", runs: 16},
];

/** Bands that an ordinary car gets through in one gear. */
const BANDS: readonly DayScenario["band"][] = [
  {fromMps: 50 * KMH, toMps: 90 * KMH, unit: "km/h", gear: 3},
  {fromMps: 60 * KMH, toMps: 110 * KMH, unit: "km/h", gear: 3},
  {fromMps: 80 * KMH, toMps: 120 * KMH, unit: "km/h", gear: 4},
];

/**
 * A day like none before: another car, band, plan, road, wind, driver, heat and logger, each drawn over a wide range. What it leaves out is
 * what no interval promises to cover: carry-over and effects of fittings.
 *
 * @param power the part's relative change of power
 */
export function variedScenario(seed: number, power: number): DayScenario {
  const random = createRandom(seed, "varied scenario");
  const between = (low: number, high: number) => low + (high - low) * random.uniform();
  const oneOf = <T>(values: readonly T[]): T => values[random.integer(values.length)];
  const base = scenarioNamed("null-day")!;
  const massKg = between(900, 2000);
  const scale = (massKg / base.vehicle.massKg) * between(0.8, 1.8); // power grows with mass, and liveliness differs
  const band = oneOf(BANDS);
  return {
    ...base,
    name: `varied ${seed}`,
    band,
    plan: oneOf(PLANS),
    directions: oneOf(["out", "alternate"]),
    clock: {startS: between(8, 15) * 3600, betweenMin: between(4, 15), jitterMin: between(0, 3)},
    vehicle: {
      ...base.vehicle,
      massKg,
      dragAreaM2: between(0.5, 0.95),
      rollingCoefficient: between(0.008, 0.016),
      throttleShare: between(0.3, 1),
      throttleRiseS: between(0.1, 0.6),
      powerCurve: base.vehicle.powerCurve.map(({engineSpeedRpm, powerW}) => ({
        engineSpeedRpm,
        powerW: powerW * scale,
      })),
    },
    fuelPerRunM3: between(0.0002, 0.001),
    road: {
      ...base.road,
      bearingDeg: between(0, 360),
      grade: between(-0.006, 0.006),
      waves: [
        {amplitudeM: between(0, 1.2), lengthM: between(400, 1200), crestM: between(0, 400)},
        {amplitudeM: between(0, 0.2), lengthM: between(100, 300), crestM: between(0, 100)},
      ],
    },
    air: {temperatureK: between(279, 308), pressurePa: between(95_000, 103_000), humidity: between(0.2, 0.9)},
    warmingKPerHour: between(-1, 2),
    wind: {
      meanMps: between(-2, 2.5),
      trendMpsPerHour: between(-0.5, 0.5),
      slowSdMps: between(0, 0.5),
      gustSdMps: between(0, 0.9),
      gustCorrelationS: between(2, 8),
    },
    driver: {
      rollInMps: band.fromMps - between(1.5, 4),
      rollInSdMps: between(0.05, 0.3),
      placeSdM: between(1, 12),
    },
    variation: {
      ...base.variation,
      runSd: between(0.004, 0.02),
      shape: oneOf(["normal", "normal", "skewed"]),
      lagOne: oneOf([0, 0, 0.3]),
      badShare: oneOf([0, 0, 0.08]),
      driftLoss: oneOf([0, 0, 0.003]),
      heatLoss: oneOf([0, between(0, 0.006)]),
    },
    part: {power, massKg: 0, dragAreaM2: 0},
    logger: {
      ...base.logger,
      rateHz: oneOf([5, 10, 20, 25]),
      smoothingS: oneOf([0, 0.12, 0.3]),
      correlatedSdMps: between(0, 0.04),
      whiteSdMps: between(0.005, 0.1),
      positionSdM: between(0.3, 2),
    },
  };
}
