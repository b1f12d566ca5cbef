import type {Band} from "../result/session.ts";
import type {AirState} from "../roadload/air-density.ts";
import type {SimulatedLogger, SimulatedRoad, SimulatedWind} from "./scenario.ts";
import {LOGGER, OSSEL} from "./scenarios.ts";
import type {SimulatedVehicle} from "./vehicle.ts";

const KMH = 5 / 18;

/** A day of coastdowns before it is driven. Runs alternate between out and back. */
export interface CoastScenario {
  name: string;
  /** one line for lists */
  words: string;
  /** seed of the committed data, used where no other is given */
  seed: number;
  question: string;
  /** falls: from the higher to the lower speed */
  band: Band;
  runs: number;
  /** driving before the first run [s] */
  warmUpS: number;
  /** clock of the first run [s since midnight], minutes from run to run and how much each start is off them */
  clock: {startS: number; betweenMin: number; jitterMin: number};
  vehicle: SimulatedVehicle;
  road: SimulatedRoad;
  /** air at the start of the day */
  air: AirState;
  warmingKPerHour: number;
  wind: SimulatedWind;
  /** how far above the band the gear goes out [m/s] and its spread; spread of the place where the log starts [m] */
  driver: {aboveBandMps: number; aboveBandSdMps: number; placeSdM: number};
  logger: SimulatedLogger;
}

/** Every named day of coastdowns. */
export const COAST_SCENARIOS: readonly CoastScenario[] = [
  {
    name: "coastdown",
    words: "what holds the car back? 8 coastdowns from 110 to 30 km/h, both ways on a gently sloped runway",
    // Chosen before any result was seen, and never changed.
    seed: 2613,
    question: "What are this car's drag and rolling terms?",
    band: {fromMps: 110 * KMH, toMps: 30 * KMH, unit: "km/h", gear: null},
    runs: 8,
    warmUpS: 25 * 60,
    clock: {startS: (9 * 60 + 40) * 60, betweenMin: 6, jitterMin: 1},
    vehicle: OSSEL,
    road: {
      name: "runway of the closed airfield at Vennmoor",
      access: "closed",
      limitMps: 130 * KMH,
      bearingDeg: 74,
      // in the open Atlantic, so that no real road is pointed at
      latitudeDeg: 47.25,
      longitudeDeg: -30.5,
      heightM: 86,
      grade: 0.0014,
      waves: [],
      startM: {out: 0, back: 2100},
    },
    air: {temperatureK: 273.15 + 13.6, pressurePa: 101_400, humidity: 0.63},
    warmingKPerHour: 1,
    wind: {meanMps: 1.3, slowSdMps: 0.4, gustSdMps: 0.6, gustCorrelationS: 4},
    driver: {aboveBandMps: 4 * KMH, aboveBandSdMps: 0.25, placeSdM: 10},
    logger: {
      ...LOGGER,
      rateHz: 5, // a coastdown lasts two minutes: more would only make the logs longer
    },
  },
];

/** The day of coastdowns of a name, or null. */
export function coastScenarioNamed(name: string): CoastScenario | null {
  return COAST_SCENARIOS.find(scenario => scenario.name === name) ?? null;
}
