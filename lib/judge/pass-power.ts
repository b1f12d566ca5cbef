import type {Log} from "../result/log.ts";
import type {Session} from "../result/session.ts";
import {bandPowerW} from "../roadload/band-power.ts";
import type {RunConditions} from "../roadload/corrected-time.ts";
import {gravityWgs84} from "../roadload/gravity.ts";
import {STANDARD_GRAVITY_MPS2} from "../roadload/road-load.ts";
import {smoothPull} from "../roadload/smooth-pull.ts";
import type {Pass} from "../run/passes.ts";
import {usableChannel} from "../run/usable-channel.ts";
import {localPolynomial} from "../series/local-polynomial.ts";
import {carOf} from "./correction.ts";

/** Mean wheel power and grade of one pass, with standard uncertainties; null where the log does not tell. */
export interface PassPower {
  wheel_power_w: number | null;
  wheel_power_u_w: number | null;
  grade: number | null;
  grade_u: number | null;
}

/** Height of a satellite receiver wanders by so much over a pass [m]; both ends of it count. */
const HEIGHT_WANDER_M = 0.3;
/** Roads without a known height are taken as level, give or take (k = 1). */
const UNKNOWN_GRADE = 0.01;
/** Wind that nobody stated [m/s]. */
const UNKNOWN_WIND_MPS = 2;
/** Heights are smoothed over this long to either side of an end of the pass [s]. */
const HEIGHT_HALF_WIDTH_S = 1.5;

/**
 * Power and grade of the passes of one log, for the car and air of a session.
 *
 * The grade is that of the log's own heights, mean over the pass: good to some 0.3 % over 130 m. Many runs over one road know it
 * better; `judge` uses them together. Where the log has no height the road is taken as level ± 1 %, and that is in the power's uncertainty.
 *
 * @param whole the log that `log` is a part of: car, air and gravity are those of its first height and latitude
 * @throws {InputError} 2: the session lacks mass, drag area or rolling coefficient of the car
 */
export function passPowers(
  log: Log,
  passes: readonly Pass[],
  session: Session,
  whole: Log = log,
): PassPower[] {
  const height = usableChannel(log, "height")?.values ?? null;
  const speed = usableChannel(log, "speed")?.values;
  const latitude = firstOf(whole, "latitude");
  const heightM = firstOf(whole, "height");
  const car = carOf(session, heightM);
  const gravityMps2 =
    latitude === null || !(Math.abs(latitude) <= 90)
      ? STANDARD_GRAVITY_MPS2
      : gravityWgs84(latitude, heightM ?? 0);
  const smooth = height && smoothedHeights(log.timeS, height);
  return passes.map(pass => {
    const endS = pass.startS + pass.elapsedS;
    const rise = smooth && difference(smooth, pass.startS, endS);
    const grade = rise === null ? null : rise / pass.distanceM;
    const gradeU = grade === null ? UNKNOWN_GRADE : (HEIGHT_WANDER_M * Math.SQRT2) / pass.distanceM;
    const pull =
      speed &&
      smoothPull({timeS: log.timeS, speedMps: speed, placeM: log.timeS}, {startS: pass.startS, endS});
    const told = {grade, grade_u: grade === null ? null : gradeU};
    if (!pull) return {wheel_power_w: null, wheel_power_u_w: null, ...told};
    const [fromMps, toMps] = [pull.speedMps[0], pull.speedMps[pull.speedMps.length - 1]];
    const power = (change: Partial<RunConditions>) =>
      bandPowerW(
        pull,
        {
          massKg: car.mass.value,
          rotatingFactor: car.rotatingFactor.value,
          dragAreaM2: car.dragArea.value,
          rollingCoefficient: car.rollingCoefficient.value,
          airDensityKgM3: car.airDensity.value,
          headwindMps: 0,
          gradeAt: () => grade ?? 0,
          gravityMps2,
          ...change,
        },
        {fromMps, toMps, elapsedS: pass.elapsedS},
      ).powerW;
    const powerW = power({});
    const shares = [
      power({massKg: car.mass.value + car.mass.u}),
      power({rotatingFactor: car.rotatingFactor.value + car.rotatingFactor.u}),
      power({dragAreaM2: car.dragArea.value + car.dragArea.u}),
      power({rollingCoefficient: car.rollingCoefficient.value + car.rollingCoefficient.u}),
      power({airDensityKgM3: car.airDensity.value + car.airDensity.u}),
      power({headwindMps: UNKNOWN_WIND_MPS}),
      power({gradeAt: () => (grade ?? 0) + gradeU}),
    ].map(moved => moved - powerW);
    const timeU = (powerW * pass.elapsedUS) / pass.elapsedS;
    return {wheel_power_w: powerW, wheel_power_u_w: Math.hypot(...shares, timeU), ...told};
  });
}

/** First value of a channel that has one, also where its values are in the file. */
function firstOf(log: Log, name: string): number | null {
  const channel = usableChannel(log, name);
  if (!channel) return null;
  return channel.range?.first ?? channel.values.find(Number.isFinite) ?? null;
}

function smoothedHeights(
  timeS: Float64Array,
  height: Float64Array,
): {timeS: Float64Array; values: Float64Array} | null {
  const rows = Array.from(height.keys()).filter(i => Number.isFinite(height[i]));
  if (rows.length < 4) return null;
  const time = Float64Array.from(rows, row => timeS[row]);
  const {values} = localPolynomial(
    time,
    rows.map(row => height[row]),
    {halfWidthS: HEIGHT_HALF_WIDTH_S, order: 1},
  );
  return {timeS: time, values};
}

/** Height at the second time less that at the first, or null outside the heights. */
function difference(
  {timeS, values}: {timeS: Float64Array; values: Float64Array},
  fromS: number,
  toS: number,
): number | null {
  if (timeS[0] > fromS || timeS[timeS.length - 1] < toS) return null;
  const at = (when: number) => {
    const i = Math.max(
      1,
      timeS.findIndex(time => time >= when),
    );
    const share = (when - timeS[i - 1]) / (timeS[i] - timeS[i - 1]);
    return values[i - 1] + share * (values[i] - values[i - 1]);
  };
  return at(toS) - at(fromS);
}
