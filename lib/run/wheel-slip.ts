import type {Channel, Log} from "../result/log.ts";
import {median, quantile} from "../stats/quantile.ts";
import type {Pass} from "./passes.ts";
import {usableChannel} from "./usable-channel.ts";
import {type Witness, witnessAt, witnessOf} from "./witness.ts";

/** Looked at before and behind a pass [s]. */
const AROUND_S = 1;
/** Lags of the wheels' signal that are tried [s]: buses and adapters delay it, seldom by more than a second. */
const LAGS_S = Array.from({length: 41}, (_, k) => -0.5 + 0.05 * k);
/**
 * Ratio of wheel to satellite speed may leave its middle by this share for the length of a window: a tyre slips 1 to 2 % at the
 * 0.3 g of a brisk pull, and grows by less than 1 % over a band. Beyond it the wheels spun, or one of the two is wrong.
 */
const MISMATCH = 0.03;
/** Length of the window [s], and values of the wheels needed in it and in the whole pass. */
const WINDOW_S = 0.5;
const LEAST_IN_WINDOW = 2;
const LEAST_VALUES = 8;
/** Longest step of the satellite speed that is drawn through [s]. */
const STEP_S = 1.2;

/**
 * True where wheel speed over satellite speed does not stay the same through a pass. What both have in common is not looked
 * at: a wrong circumference (the ratio itself) and a late signal (the lag with which the ratio varies least) are taken out first.
 */
export function wheelsDisagree(log: Log, speed: Channel, pass: Pass): boolean {
  const wheel = usableChannel(log, "vehicle-speed");
  if (!wheel || wheel === speed) return false;
  const [fromS, toS] = [pass.startS - AROUND_S, pass.startS + pass.elapsedS + AROUND_S];
  const wheels = witnessOf(log, wheel, fromS, toS);
  if (wheels.timeS.length < LEAST_VALUES) return false;
  const ground = witnessOf(log, speed, fromS - 2, toS + 2);
  const tried = LAGS_S.map(lagS => ratios(wheels, ground, lagS)).filter(
    ({values}) => values.length >= LEAST_VALUES,
  );
  if (tried.length === 0) return false;
  const spread = ({values}: Ratios) => quantile(values, 0.75) - quantile(values, 0.25);
  const best = tried.reduce((a, b) => (spread(b) / median(b.values) < spread(a) / median(a.values) ? b : a));
  const middle = median(best.values);
  const rounding = stepOf(wheels.values) / 2;
  for (let i = 0; i < best.values.length; i++) {
    const inside: number[] = [];
    for (let k = i; k < best.values.length && best.timeS[k] - best.timeS[i] <= WINDOW_S; k++)
      inside.push(best.values[k]);
    if (inside.length < LEAST_IN_WINDOW) continue;
    const allowed = MISMATCH + rounding / (best.speedMps[i] * middle);
    if (Math.abs(median(inside) / middle - 1) > allowed) return true;
  }
  return false;
}

interface Ratios {
  timeS: number[];
  values: number[];
  speedMps: number[];
}

/** Wheel speed over the satellite speed of so long before. */
function ratios(wheels: Witness, ground: Witness, lagS: number): Ratios {
  const result: Ratios = {timeS: [], values: [], speedMps: []};
  for (const [i, at] of wheels.timeS.entries()) {
    const speed = witnessAt(ground, at - lagS, STEP_S);
    if (!(speed > 1)) continue;
    result.timeS.push(at);
    result.values.push(wheels.values[i] / speed);
    result.speedMps.push(speed);
  }
  return result;
}

/** Smallest difference between neighbours that differ: the number format of the values, or their noise if that is larger. */
function stepOf(values: Float64Array): number {
  let smallest = Number.POSITIVE_INFINITY;
  for (let i = 1; i < values.length; i++) {
    const step = Math.abs(values[i] - values[i - 1]);
    if (step > 0 && step < smallest) smallest = step;
  }
  return Number.isFinite(smallest) ? smallest : 0;
}
