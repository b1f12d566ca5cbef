import type {Band, Session} from "../result/session.ts";
import {airDensityIdealMix} from "../roadload/air-density.ts";
import {type BetweenSpeeds, betweenSpeeds} from "../roadload/between-speeds.ts";
import {roadLoadN} from "../roadload/road-load.ts";

/** A car and its air as far as the session tells; what it does not tell is assumed and named in `assumed`. */
export interface BandCar {
  massKg: number;
  /** effective mass over mass */
  rotatingMassFactor: number;
  dragAreaM2: number;
  rollingCoefficient: number;
  airDensityKgM3: number;
  /** what the session does not say, with the value taken: "mass 1400 kg" */
  assumed: string[];
}

/** What differs from the car of the day. Everything that is left out stays as it is. */
export interface BandChange {
  massKg?: number;
  /** relative change of air density as the drag sees it */
  airDensityShare?: number;
  headwindMps?: number;
  /** rise over run */
  grade?: number;
  /** relative change of the rolling coefficient */
  rollingShare?: number;
  /** relative change of wheel power */
  powerShare?: number;
}

/** A compact car with a driver: middle of what is sold; each is marked as assumed where it is used. */
const TYPICAL = {
  massKg: 1400,
  rotatingMassFactor: 1.05,
  dragAreaM2: 0.68,
  rollingCoefficient: 0.012,
} as const;
/** 15 °C and 1013.25 hPa, dry: the standard atmosphere at sea level (ISO 2533). */
const STANDARD_DENSITY_KG_M3 = 1.225;
/** Pressures below this [Pa] are no air that cars drive in (9 km up), and may be below that of vapour. */
const LOWEST_PA = 30_000;
/** Relative change of power at which the search for the power stops: far below what any digit shows. */
const POWER_CONVERGED = 1e-12;
const MOST_STEPS = 60;

/** The car of a session, typical values standing in for what it does not say. */
export function bandCar({vehicle, air}: Pick<Session, "vehicle" | "air">): BandCar {
  const assumed: string[] = [];
  const or = (value: number | null, typical: number, words: string): number => {
    if (value === null) assumed.push(words);
    return value ?? typical;
  };
  const {temperatureK, pressurePa, humidity} = air;
  const known =
    temperatureK !== null && temperatureK >= 273.15 && pressurePa !== null && pressurePa > LOWEST_PA;
  return {
    massKg: or(vehicle.massKg, TYPICAL.massKg, `mass ${TYPICAL.massKg} kg`),
    rotatingMassFactor: vehicle.rotatingMassFactor ?? TYPICAL.rotatingMassFactor,
    dragAreaM2: or(vehicle.dragAreaM2, TYPICAL.dragAreaM2, `CdA ${TYPICAL.dragAreaM2} m²`),
    rollingCoefficient: or(
      vehicle.rollingCoefficient,
      TYPICAL.rollingCoefficient,
      `Crr ${TYPICAL.rollingCoefficient}`,
    ),
    airDensityKgM3: known
      ? airDensityIdealMix({temperatureK, pressurePa, humidity: humidity ?? 0})
      : STANDARD_DENSITY_KG_M3,
    assumed,
  };
}

/**
 * How much longer a car would take through a band if something about it differed: a first cut at constant wheel power, the power
 * that makes the time observed. Real power varies over a band; at equal band time that moves the result by some 10 % of itself.
 *
 * @param elapsedS time through the band as it is [s]
 * @returns function from a change to the change of band time [s], positive = slower; null where the car would not get through.
 *   Null instead of the function for a falling band, or where no constant power makes that time.
 */
export function bandTimeChanges(
  car: BandCar,
  {fromMps, toMps}: Pick<Band, "fromMps" | "toMps">,
  elapsedS: number,
): ((change: BandChange) => number | null) | null {
  if (!(toMps > fromMps && elapsedS > 0)) return null;
  const pull = (powerW: number, change: BandChange): BetweenSpeeds | null => {
    const massKg = car.massKg + (change.massKg ?? 0);
    if (!(massKg > 0)) return null;
    const load = {
      massKg,
      rollingCoefficient: car.rollingCoefficient * Math.max(0, 1 + (change.rollingShare ?? 0)),
      dragAreaM2: car.dragAreaM2,
      airDensityKgM3: car.airDensityKgM3 * Math.max(0, 1 + (change.airDensityShare ?? 0)),
      headwindMps: change.headwindMps ?? 0,
      grade: change.grade ?? 0,
    };
    const power = powerW * (1 + (change.powerShare ?? 0));
    const effective = {massKg: massKg + (car.rotatingMassFactor - 1) * car.massKg, fromMps, toMps};
    return betweenSpeeds(speed => power / speed - roadLoadN(speed, load), effective);
  };
  const powerW = powerFor(elapsedS, power => pull(power, {}));
  if (powerW === null) return null;
  return change => {
    if (Object.values(change).every(value => value === 0)) return 0;
    const changed = pull(powerW, change);
    return changed && changed.elapsedS - elapsedS;
  };

  /** Elapsed time falls with power, nearly as 1 / (power − load): secant steps on its reciprocal are nearly exact. */
  function powerFor(wantedS: number, elapsed: (power: number) => BetweenSpeeds | null): number | null {
    const kineticW = (car.rotatingMassFactor * car.massKg * (toMps ** 2 - fromMps ** 2)) / 2 / wantedS;
    const rate = (power: number) => 1 / (elapsed(power)?.elapsedS ?? Number.POSITIVE_INFINITY);
    let [low, high] = [kineticW, 1.5 * kineticW];
    let [lowRate, highRate] = [rate(low), rate(high)];
    for (let step = 0; step < MOST_STEPS; step++) {
      const next =
        highRate === lowRate
          ? 2 * high
          : high + ((1 / wantedS - highRate) * (high - low)) / (highRate - lowRate);
      if (!(Number.isFinite(next) && next > 0)) return null;
      if (Math.abs(next - high) <= POWER_CONVERGED * high) return next;
      [low, lowRate, high, highRate] = [high, highRate, next, rate(next)];
    }
    return null;
  }
}
