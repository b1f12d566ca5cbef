import {InputError} from "../result/error.ts";
import type {Session, Vehicle} from "../result/session.ts";
import {
  correctDay,
  type DayCorrection,
  type DayInputs,
  type PullRun,
  type Uncertain,
} from "../roadload/day-correction.ts";
import {gravityWgs84} from "../roadload/gravity.ts";
import {STANDARD_GRAVITY_MPS2} from "../roadload/road-load.ts";
import {rotatingMass} from "../roadload/rotating-mass.ts";
import {sessionAir} from "../roadload/session-air.ts";
import type {LoadedRun, TestDay} from "../run/day.ts";
import {usableChannel} from "../run/usable-channel.ts";

/** A day's correction with what was assumed for it. */
export interface JudgedCorrection extends DayCorrection {
  /** what nobody stated, in words */
  assumed: string[];
}

/** Petrol [kg/m³], middle of the 720–775 of EN 228; diesel is 10 % heavier. */
const FUEL_KG_M3 = 745;
/** A person [kg]. */
const OCCUPANT_KG = 75;
/** Standard uncertainties where none is stated: a weighbridge or papers, a wind-tunnel figure, a table of tyres. */
const MASS_SHARE_U = 0.02;
const DRAG_SHARE_U = 0.05;
const ROLLING_SHARE_U = 0.1;
/** In gear, without a stated factor: Taborek's rule gives 1.06 to 1.13 for overall ratios of 3 to 6. */
const ROTATING_UNSTATED = {value: 1.09, u: 0.03};

const known = new WeakMap<TestDay, JudgedCorrection>();

/** The key of the session that a correction lacks, or null where it can be made. */
export function correctionLacks({vehicle}: Session): keyof Vehicle | null {
  return (["massKg", "dragAreaM2", "rollingCoefficient"] as const).find(key => vehicle[key] === null) ?? null;
}

/**
 * A day brought to reference conditions: level, still, the session's mean air, the declared mass. Computed once a day.
 *
 * @throws {InputError} 2: the session does not state the car's mass, drag area or rolling coefficient, or its air is outside any weather
 */
export function correctionOf(day: TestDay): JudgedCorrection {
  const before = known.get(day);
  if (before) return before;
  const {session} = day;
  const lacking = correctionLacks(session);
  if (lacking) throw missing(session, lacking);
  try {
    const correction = correct(day);
    known.set(day, correction);
    return correction;
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    throw new InputError(2, {
      code: "session-value",
      file: session.file,
      words: error.message,
      hint: "mend air or vehicle of the session",
    });
  }
}

function correct(day: TestDay): JudgedCorrection {
  const {session, runs} = day;
  const {vehicle, band} = session;
  const heights = runs.map(run => values(run, "height"));
  const heightM = meanOf(
    heights.flatMap(height => (height ? Array.from(height).filter(Number.isFinite) : [])),
  );
  const airs = runs.map(({run}) => sessionAir(session.air, {heightM}, run.conditions.airTemperatureK));
  const usedAirs = airs.filter((_, i) => isUsed(runs[i]));
  const meanDensity = meanOf((usedAirs.length ? usedAirs : airs).map(air => air.densityKgM3))!;
  const fuel = noted(runs, run => run.run.conditions.fuelM3);
  const occupants = noted(runs, run => run.run.conditions.occupants);
  const massKg = vehicle.massKg!;
  const car = carOf(session, heightM);
  const inputs: DayInputs = {
    ...car,
    airDensity: {value: meanDensity, u: car.airDensity.u},
    statedWind: session.wind && {value: session.wind.headwindOutMps, u: session.wind.uncertaintyMps},
    gravityMps2: gravityHere(runs, heightM),
    fromMps: band.fromMps,
    toMps: band.toMps,
  };
  const pulls = runs.map((run, i): PullRun => {
    const {log, first, end} = run;
    const cut = (name: string) => values(run, name)?.subarray(first, end) ?? null;
    return {
      timeS: log.timeS.subarray(first, end),
      speedMps: cut("speed")!,
      latitudeDeg: cut("latitude"),
      longitudeDeg: cut("longitude"),
      heightM: cut("height"),
      direction: run.run.direction,
      arm: run.run.arm,
      pass: run.pass,
      used: isUsed(run),
      airDensityKgM3: airs[i].densityKgM3,
      massKg: massKg + FUEL_KG_M3 * fuel[i] + OCCUPANT_KG * occupants[i],
    };
  });
  return {...correctDay(pulls, inputs), assumed: car.assumed};
}

/** What is common to all runs of a session. */
export type SessionCar = Pick<
  DayInputs,
  "mass" | "rotatingFactor" | "dragArea" | "rollingCoefficient" | "airDensity"
> & {
  assumed: string[];
};

/**
 * Car and air of a session with their uncertainties.
 *
 * @param heightM mean height of the logs, or null
 * @throws {InputError} 2: mass, drag area or rolling coefficient is not stated
 */
export function carOf(session: Session, heightM: number | null): SessionCar {
  const lacking = correctionLacks(session);
  if (lacking) throw missing(session, lacking);
  const {vehicle} = session;
  const air = sessionAir(session.air, {heightM});
  const rotating =
    vehicle.rotatingMassFactor === null ? null : rotatingMass({stated: vehicle.rotatingMassFactor});
  const withShare = (value: number, share: number): Uncertain => ({value, u: share * value});
  return {
    mass: {value: vehicle.massKg!, u: vehicle.massUncertaintyKg ?? MASS_SHARE_U * vehicle.massKg!},
    rotatingFactor: rotating ? {value: rotating.factor, u: rotating.factorU} : ROTATING_UNSTATED,
    dragArea: withShare(vehicle.dragAreaM2!, DRAG_SHARE_U),
    rollingCoefficient: withShare(vehicle.rollingCoefficient!, ROLLING_SHARE_U),
    airDensity: {value: air.densityKgM3, u: air.densityUKgM3},
    assumed: [
      ...air.assumed,
      ...(rotating ? [] : [`a rotating-mass factor of ${ROTATING_UNSTATED.value} ± ${ROTATING_UNSTATED.u}`]),
    ],
  };
}

function isUsed({run, pass}: LoadedRun): boolean {
  return run.exclude === null && pass !== null;
}

/** What was noted of each run, less the mean; 0 everywhere unless it was noted of all. */
function noted(runs: readonly LoadedRun[], of: (run: LoadedRun) => number | null): number[] {
  const all = runs.map(of);
  if (all.some(value => value === null)) return all.map(() => 0);
  const mean = meanOf(all as number[])!;
  return all.map(value => value! - mean);
}

function gravityHere(runs: readonly LoadedRun[], heightM: number | null): number {
  for (const run of runs) {
    const latitude = values(run, "latitude")?.find(value => Math.abs(value) <= 90);
    if (latitude !== undefined) return gravityWgs84(latitude, heightM ?? 0);
  }
  return STANDARD_GRAVITY_MPS2;
}

function values({log}: LoadedRun, name: string): Float64Array | null {
  return usableChannel(log, name)?.values ?? null;
}

function meanOf(numbers: readonly number[]): number | null {
  return numbers.length === 0 ? null : numbers.reduce((sum, value) => sum + value, 0) / numbers.length;
}

const WRITTEN = {
  massKg: ["mass", "1390 kg"],
  dragAreaM2: ["dragArea", "0.66 m2"],
  rollingCoefficient: ["rollingCoefficient", "0.012"],
} as const;

function missing({file, primary}: Session, key: keyof Vehicle): InputError {
  const [name, example] = WRITTEN[key as keyof typeof WRITTEN];
  return new InputError(2, {
    code: "vehicle-missing",
    file,
    words: `vehicle.${name} is missing, and ${primary === "band-time" ? "wheel power" : primary} cannot be computed without it`,
    hint: `write for example vehicle: {${name}: ${example}}, or make band-time the primary measure`,
  });
}
