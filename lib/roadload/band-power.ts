import {loadOf, type RunConditions} from "./corrected-time.ts";
import type {SmoothPull} from "./smooth-pull.ts";

/** Mean wheel power through a band, by where it went [W]. */
export interface BandPower {
  /** all of it */
  powerW: number;
  /** into speed: change of kinetic energy over time */
  inertiaW: number;
  /** against air, tyres and slope */
  dragW: number;
  rollingW: number;
  gradeW: number;
}

/**
 * Mean wheel power of a pass by energy balance: (½ m_e (v₂² − v₁²) + ∫ F v dt) / T. Nothing is differentiated; speeds at the
 * ends are those of the band itself, so white noise only enters through T.
 *
 * It is the power that moves the car: slip of the tyres (1–3 % at full throttle) is not in it.
 *
 * @param pull the run through the pass; see `smoothPull`
 * @param band speeds at the ends [m/s] and the time between them [s]
 * @throws {RangeError} as `roadLoadN`; time not above zero
 */
export function bandPowerW(
  pull: SmoothPull,
  run: RunConditions,
  {fromMps, toMps, elapsedS}: {fromMps: number; toMps: number; elapsedS: number},
): BandPower {
  if (!(elapsedS > 0)) throw new RangeError(`bandPowerW: the time must be above 0, found ${elapsedS} s`);
  const inertiaW = (0.5 * run.massKg * run.rotatingFactor * (toMps ** 2 - fromMps ** 2)) / elapsedS;
  const mean = (force: (speed: number, place: number) => number): number => {
    const {timeS, speedMps, placeM} = pull;
    let [sum, before] = [0, 0];
    for (let i = 0; i < timeS.length; i++) {
      const power = force(speedMps[i], placeM[i]) * speedMps[i];
      if (i > 0) sum += ((power + before) / 2) * (timeS[i] - timeS[i - 1]);
      before = power;
    }
    return sum / (timeS[timeS.length - 1] - timeS[0]);
  };
  const level = {...run, gradeAt: () => 0};
  const dragW = mean(speed => loadOf(speed, 0, {...level, rollingCoefficient: 0}));
  const rollingW = mean((speed, place) => loadOf(speed, place, {...level, dragAreaM2: 0}));
  const allW = mean((speed, place) => loadOf(speed, place, run));
  return {powerW: inertiaW + allW, inertiaW, dragW, rollingW, gradeW: allW - dragW - rollingW};
}

/**
 * Engine power from wheel power [W], by a driveline efficiency that is stated, never assumed. Measured ones run from 0.80 to 0.98.
 *
 * @throws {RangeError} efficiency outside 0.5 … 1
 */
export function enginePowerW(
  wheelPowerW: number,
  {drivelineEfficiency}: {drivelineEfficiency: number},
): number {
  if (!(drivelineEfficiency >= 0.5 && drivelineEfficiency <= 1))
    throw new RangeError(
      `enginePowerW: driveline efficiency must be 0.5 to 1, found ${drivelineEfficiency}; a loss of 10 % is written 0.9`,
    );
  return wheelPowerW / drivelineEfficiency;
}
