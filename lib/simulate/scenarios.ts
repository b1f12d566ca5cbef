import type {DayScenario, SimulatedLogger} from "./scenario.ts";
import type {SimulatedVehicle} from "./vehicle.ts";

const KMH = 5 / 18;

/** A small hatchback with a turbocharged engine of 1.4 litres; no such car exists. */
export const OSSEL: SimulatedVehicle = {
  name: "Ossel 1.4",
  massKg: 1280,
  massUncertaintyKg: 15,
  dragAreaM2: 0.64,
  rollingCoefficient: 0.0115,
  rollingRadiusM: 0.301,
  overallRatios: [14.1, 8.02, 5.36, 4.02, 3.19, 2.62],
  wheelInertiaKgM2: 3.6,
  engineInertiaKgM2: 0.13,
  powerCurve: [
    {engineSpeedRpm: 1500, powerW: 24_000},
    {engineSpeedRpm: 2000, powerW: 45_000},
    {engineSpeedRpm: 2500, powerW: 63_000},
    {engineSpeedRpm: 3000, powerW: 75_000},
    {engineSpeedRpm: 3500, powerW: 84_000},
    {engineSpeedRpm: 4000, powerW: 90_000},
    {engineSpeedRpm: 4500, powerW: 94_000},
    {engineSpeedRpm: 5000, powerW: 96_500},
    {engineSpeedRpm: 5500, powerW: 97_000},
    {engineSpeedRpm: 6000, powerW: 95_000},
    {engineSpeedRpm: 6500, powerW: 90_000},
  ],
  throttleShare: 0.45,
  throttleRiseS: 0.3,
  liftDragN: 650,
};

/** The club's satellite logger. */
export const LOGGER: SimulatedLogger = {
  rateHz: 10,
  smoothingS: 0.12,
  correlatedSdMps: 0.02,
  correlationS: 1.5,
  whiteSdMps: 0.03,
  heightStepM: 1.2,
  heightSdM: 0.3,
  heightCorrelationS: 12,
  positionSdM: 0.6,
  positionCorrelationS: 20,
};

/** The day that the demo data were made on; see its seed below. */
const INTAKE_ELBOW: DayScenario = {
  name: "intake-elbow",
  words:
    "does a smooth intake elbow shorten the 60–110 km/h pull? 12 runs in a drift-balanced order, it does",
  // Chosen before any result was seen, and never changed.
  seed: 4711,
  question: "Does the smooth intake elbow shorten the 60–110 km/h pull?",
  worthwhileS: 0.15,
  band: {fromMps: 60 * KMH, toMps: 110 * KMH, unit: "km/h", gear: 3},
  arms: {baseline: "ribbed hose", changed: "smooth elbow"},
  plan: {order: "drift-balanced", runs: 12},
  directions: "out",
  clock: {startS: (13 * 60 + 10) * 60, betweenMin: 9, jitterMin: 1},
  vehicle: OSSEL,
  fuelM3: 0.031,
  fuelPerRunM3: 0.0004,
  occupants: 1,
  road: {
    name: "taxiway of the closed airfield at Vennmoor",
    access: "closed",
    limitMps: 130 * KMH,
    bearingDeg: 74,
    // in the open Atlantic, so that no real road is pointed at
    latitudeDeg: 47.25,
    longitudeDeg: -30.5,
    heightM: 86,
    grade: 0.0012,
    waves: [
      {amplitudeM: 0.9, lengthM: 740, crestM: 120},
      {amplitudeM: 0.15, lengthM: 210, crestM: 60},
    ],
    startM: {out: 60, back: 290}, // the band lies on the same stretch both ways
  },
  air: {temperatureK: 273.15 + 18.4, pressurePa: 100_900, humidity: 0.58},
  warmingKPerHour: 0.8,
  wind: {meanMps: 0.9, slowSdMps: 0.3, gustSdMps: 0.5, gustCorrelationS: 4},
  driver: {rollInMps: 50 * KMH, rollInSdMps: 0.25, placeSdM: 5},
  variation: {
    runSd: 0.008,
    shape: "normal",
    lagOne: 0,
    badShare: 0,
    badLoss: 0.03,
    driftLoss: 0,
    heatLoss: 0.004,
    heatRecoveryMin: 12,
    heatIntakeK: 4,
    fittingSd: 0,
    carryOver: 0,
  },
  part: {power: 0.03, massKg: -0.4, dragAreaM2: 0},
  logger: LOGGER,
};

const NO_PART = {power: 0, massKg: 0, dragAreaM2: 0};
/** No heat left over from run to run, so that drift and noise are what the other numbers say and nothing else. */
const RESTED = {...INTAKE_ELBOW.variation, heatLoss: 0};

/** Every named scenario. Variants differ from the demo in what their line says, and in nothing else. */
export const SCENARIOS: readonly DayScenario[] = [
  INTAKE_ELBOW,
  {
    ...INTAKE_ELBOW,
    name: "identical-runs",
    words: "how much do runs of the same car differ? 10 runs with nothing changed",
    seed: 2610, // chosen before any result was seen, as those of all demo data
    question: "How much do runs of the same car differ on this road, and what could be shown with them?",
    plan: {order: "complete", runs: 10},
    identical: true,
    part: NO_PART,
  },
  {
    ...INTAKE_ELBOW,
    name: "warm-afternoon",
    words: "a sleeve that does nothing, on a car that loses 0.4 % of its power from run to run, 12 runs",
    seed: 2611,
    question: "Does the reflecting sleeve on the intake hose shorten the 60–110 km/h pull?",
    arms: {baseline: "bare hose", changed: "reflecting sleeve"},
    variation: {...RESTED, driftLoss: 0.004},
    part: NO_PART,
  },
  {
    ...INTAKE_ELBOW,
    name: "hilly-road",
    words: "the smooth elbow on a road of hills, driven both ways in wind, from places that scatter by 25 m",
    seed: 2612,
    question: "Does the smooth intake elbow shorten the 60–110 km/h pull, or was it the hills and the wind?",
    primary: "corrected-band-time",
    directions: "alternate",
    road: {
      ...INTAKE_ELBOW.road,
      name: "test road of the quarry at Vennmoor",
      waves: [
        {amplitudeM: 2.4, lengthM: 460, crestM: 150},
        {amplitudeM: 0.3, lengthM: 190, crestM: 60},
      ],
    },
    wind: {meanMps: 2, slowSdMps: 0.4, gustSdMps: 0.6, gustCorrelationS: 4},
    driver: {...INTAKE_ELBOW.driver, placeSdM: 25},
  },
  {
    ...INTAKE_ELBOW,
    name: "heat-shield",
    words: "does a heat shield on the intake pipe let the engine keep its spark? 12 runs with engine logs",
    seed: 2613,
    question: "Does the heat shield on the intake pipe change how much spark the engine takes out for knock?",
    band: {fromMps: 45 * KMH, toMps: 110 * KMH, unit: "km/h", gear: 3},
    arms: {baseline: "bare pipe", changed: "heat shield"},
    plan: {order: "complete", runs: 12},
    driver: {...INTAKE_ELBOW.driver, rollInMps: 38 * KMH},
    part: {power: 0.002, massKg: 0.3, dragAreaM2: 0},
    engine: {
      rateHz: 10,
      clockAheadS: 4,
      wheelSpeedScale: 1.015,
      soakK: 16,
      heatK: 2,
      intakeSdK: 2,
      learningKept: 0.2,
      knock: {fromRpm: 2500, toRpm: 4000, degPerK: 0.17, sdDeg: 0.4, correlationRpm: 500},
      part: {intakeK: -8},
    },
  },
  {
    ...INTAKE_ELBOW,
    name: "ignition-map",
    words: "an ignition map that gives 4 % more power, compared by wheel power, driven both ways",
    seed: 2613,
    question: "Does the ignition map for 98 octane give more wheel power from 60 to 110 km/h?",
    primary: "band-power",
    worthwhilePercent: 2,
    arms: {baseline: "map for 95 octane", changed: "map for 98 octane"},
    directions: "alternate",
    wind: {meanMps: 1.5, slowSdMps: 0.4, gustSdMps: 0.5, gustCorrelationS: 4},
    driver: {...INTAKE_ELBOW.driver, placeSdM: 10},
    part: {power: 0.04, massKg: 0, dragAreaM2: 0},
  },
  {
    ...INTAKE_ELBOW,
    name: "null-day",
    words: "the demo's day with a part that does nothing",
    part: NO_PART,
  },
  {
    ...INTAKE_ELBOW,
    name: "abba2",
    words: "two ABBA blocks of a part that does nothing, no drift",
    plan: {order: "abba", runs: 8},
    variation: RESTED,
    part: NO_PART,
  },
  {
    ...INTAKE_ELBOW,
    name: "abba2-drift",
    words: "two ABBA blocks of a part that does nothing, 0.3 % less power from run to run",
    plan: {order: "abba", runs: 8},
    variation: {...RESTED, driftLoss: 0.003},
    part: NO_PART,
  },
  {
    ...INTAKE_ELBOW,
    name: "pairs6",
    words: "six pairs, neighbouring runs alike, 0.3 % less power from run to run",
    plan: {order: "pairs", runs: 12},
    variation: {...RESTED, lagOne: 0.4, driftLoss: 0.003},
  },
  {
    ...INTAKE_ELBOW,
    name: "unpaired5",
    words: "five runs of each arm in an order drawn by lot, skewed noise, 8 % bad runs",
    plan: {order: "complete", runs: 10},
    variation: {...RESTED, shape: "skewed", badShare: 0.08},
  },
  {
    ...INTAKE_ELBOW,
    name: "both-ways",
    words: "every other run drives back, the wind is stronger and each fitting turns out a little different",
    directions: "alternate",
    wind: {meanMps: 2, slowSdMps: 0.5, gustSdMps: 0.8, gustCorrelationS: 4},
    variation: {...RESTED, fittingSd: 0.004},
  },
];

/** The scenario of a name, or null. */
export function scenarioNamed(name: string): DayScenario | null {
  return SCENARIOS.find(scenario => scenario.name === name) ?? null;
}
