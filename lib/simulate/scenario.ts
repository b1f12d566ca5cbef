import type {Band, OrderName, Session} from "../result/session.ts";
import type {AirState} from "../roadload/air-density.ts";
import type {SimulatedVehicle} from "./vehicle.ts";

/** A straight road; places on it are metres from its start, the direction out is the one of growing places. */
export interface SimulatedRoad {
  name: string;
  access: "closed" | "public";
  limitMps: number;
  /** compass bearing of the direction out [deg] */
  bearingDeg: number;
  /** position of place 0 [deg] */
  latitudeDeg: number;
  longitudeDeg: number;
  /** height above sea level of place 0 of the straight part of the profile [m] */
  heightM: number;
  /** rise of the straight part, positive in the direction out */
  grade: number;
  /** undulations: height amplitude, length, place of a crest, all in m */
  waves: readonly {amplitudeM: number; lengthM: number; crestM: number}[];
  /** where the roll-in starts, out and back [m] */
  startM: {out: number; back: number};
}

/** Wind along the road, positive against the car on the way out. */
export interface SimulatedWind {
  meanMps: number;
  /** how fast the mean grows through the day, default 0 */
  trendMpsPerHour?: number;
  /** spread of the mean between runs [m/s] */
  slowSdMps: number;
  /** gusts within a run: spread [m/s] and correlation time [s] of an Ornstein–Uhlenbeck process */
  gustSdMps: number;
  gustCorrelationS: number;
}

/** What changes the power of a run beside the part; shares are relative to the power of a cool engine. */
export interface PowerVariation {
  /** spread from run to run */
  runSd: number;
  /** "skewed" = a tail towards low power, skewness −1.41 (a standardised chi-square of 4 degrees of freedom, turned round) */
  shape: "normal" | "skewed";
  /** correlation of neighbouring runs, 0 … 1 (exclusive) */
  lagOne: number;
  /** share of runs that went wrong, and how much power such a run loses on average */
  badShare: number;
  badLoss: number;
  /** loss from one run to the next, all afternoon long */
  driftLoss: number;
  /** loss that one pull's heat costs, and how fast the heat leaves [minutes] */
  heatLoss: number;
  heatRecoveryMin: number;
  /** how much warmer the intake air starts for one pull's heat [K] */
  heatIntakeK: number;
  /** spread from one fitting of a part to the next */
  fittingSd: number;
  /** share of the part's power that stays behind in the first run after a change (what the engine management learned) */
  carryOver: number;
}

/** The satellite speed logger. */
export interface SimulatedLogger {
  rateHz: number;
  /** time constant of the receiver's own smoothing of speed [s], 0 = none */
  smoothingS: number;
  /** spread of the slowly varying speed error [m/s] and its correlation time [s] */
  correlatedSdMps: number;
  correlationS: number;
  /** spread of the speed error that is new in each sample [m/s] */
  whiteSdMps: number;
  /** step of height from run to run (a random walk), and its wandering within a run [m] with correlation time [s] */
  heightStepM: number;
  heightSdM: number;
  heightCorrelationS: number;
  /** error of position north and east [m] with its correlation time [s] */
  positionSdM: number;
  positionCorrelationS: number;
}

/** The driver: how much entry and place of a pull vary. */
export interface SimulatedDriver {
  /** steady speed before the throttle opens [m/s], below the band, and its spread */
  rollInMps: number;
  rollInSdMps: number;
  /** spread of the place where the log starts [m] */
  placeSdM: number;
}

/** What the changed arm changes. */
export interface PartEffect {
  /** relative change of wheel power at full throttle */
  power: number;
  massKg: number;
  dragAreaM2: number;
}

/** An engine that knocks when its intake air is hot, and the log of its control unit. */
export interface SimulatedEngine {
  rateHz: number;
  /** the engine log's clock is ahead by up to this, another amount each run [s] */
  clockAheadS: number;
  /** speed that the wheels tell over the true one */
  wheelSpeedScale: number;
  /** intake air above the air outside when the engine is warm [K], and for each pull's heat that is left */
  soakK: number;
  heatK: number;
  /** spread of the intake air from run to run [K] */
  intakeSdK: number;
  /** share of what was learned in the run before that is still there */
  learningKept: number;
  knock: {
    /** stretch of engine speed in which it knocks */
    fromRpm: number;
    toRpm: number;
    /** spark taken out for a kelvin of intake air */
    degPerK: number;
    /** spread from run to run, and over how much engine speed neighbours are alike */
    sdDeg: number;
    correlationRpm: number;
  };
  /** what the changed arm does to the intake air */
  part: {intakeK: number};
}

/** A test day before it is driven: everything that is true, and what may vary. */
export interface DayScenario {
  name: string;
  /** one line for lists */
  words: string;
  /** seed of the committed data, used where no other is given */
  seed: number;
  question: string;
  /** smallest difference that would matter [s] */
  worthwhileS: number;
  /** the same as a share of the baseline mean [%], written in its place where the session compares power */
  worthwhilePercent?: number;
  band: Band & {gear: number};
  /** what the session compares; default "band-time" */
  primary?: Session["primary"];
  arms: {baseline: string; changed: string};
  plan: {order: OrderName; runs: number};
  /** every run is of the car as it is: the session asks how much identical runs differ, and has no arms; default false */
  identical?: boolean;
  /** the first arm that the lot names (letter A of a sealed test) is the changed one, not the baseline; default false */
  lettersSwapped?: boolean;
  /** "alternate" = every other run drives back */
  directions: "out" | "alternate";
  /** clock of the first run [s since midnight], minutes from run to run and how much each start is off them */
  clock: {startS: number; betweenMin: number; jitterMin: number};
  vehicle: SimulatedVehicle;
  /** fuel at the start and used from run to run, the way back included [m³] */
  fuelM3: number;
  fuelPerRunM3: number;
  occupants: number;
  road: SimulatedRoad;
  /** air at the start of the day */
  air: AirState;
  warmingKPerHour: number;
  wind: SimulatedWind;
  driver: SimulatedDriver;
  variation: PowerVariation;
  part: PartEffect;
  logger: SimulatedLogger;
  /** each run has an engine log, and the session asks what its channels did */
  engine?: SimulatedEngine;
}
