import type {Channel} from "../result/log.ts";
import type {PedalOpen} from "./pedal.ts";
import type {SpeedTrace} from "./speed-trace.ts";
import {type Stretch, stretches} from "./stretches.ts";

/** A coastdown slows down by less than this [m/s²]: road load at 200 km/h; brakes take more … */
const COAST_HARDEST_MPS2 = 1.2;
/** … and by more than this, or it does not slow down: half the rolling resistance. */
const COAST_LEAST_MPS2 = 0.04;
/** Shorter ones are lifts before a corner [s]. */
const SHORTEST_COAST_S = 15;
/** Least loss of speed [m/s]: 20 km/h hold no band worth timing. */
const LEAST_LOSS_MPS = 20 / 3.6;
/** The part of it that does not grow with speed is below this [m/s²]: rolling and 3 % of grade; an engine in gear or brakes take more. */
const COAST_CONSTANT_MPS2 = 0.5;
/** What constant + speed² leaves of a coastdown's acceleration (standard deviation) [m/s²]: 1.5 % of grade. */
const COAST_ROUGH_MPS2 = 0.15;

/** Stretches in which speed falls as road load lets it; see `findRuns`. */
export function coastStretches(
  {timeS, speedMps, rows}: SpeedTrace,
  slope: Float64Array,
  pedal: PedalOpen | null,
  brake: Channel | null,
): Stretch[] {
  const idle = brake ? lowestValue(brake.values) : 0;
  const slowing = stretches(
    timeS.length,
    i =>
      slope[i] < -COAST_LEAST_MPS2 &&
      slope[i] > -COAST_HARDEST_MPS2 &&
      !(pedal && !pedal.isClosed(timeS[i])) &&
      !(brake && brake.values[rows[i]] > idle),
  );
  return slowing.filter(({first, end}) => {
    const lasts = timeS[end - 1] - timeS[first];
    const loss = speedMps[first] - speedMps[end - 1];
    if (!(lasts >= SHORTEST_COAST_S && loss >= LEAST_LOSS_MPS)) return false;
    const {constantMps2, roughMps2} = fitRoadLoad(speedMps.subarray(first, end), slope.subarray(first, end));
    return roughMps2 <= COAST_ROUGH_MPS2 && constantMps2 > -COAST_CONSTANT_MPS2;
  });
}

/** Acceleration as constant + c2 v², the form of road load, by least squares: the constant, and what is left (standard deviation). */
function fitRoadLoad(speedMps: Float64Array, slope: Float64Array): {constantMps2: number; roughMps2: number} {
  const n = slope.length;
  let [meanX, meanY] = [0, 0];
  for (let i = 0; i < n; i++) {
    meanX += speedMps[i] ** 2 / n;
    meanY += slope[i] / n;
  }
  let [xx, xy, yy] = [0, 0, 0];
  for (let i = 0; i < n; i++) {
    const x = speedMps[i] ** 2 - meanX;
    const y = slope[i] - meanY;
    xx += x * x;
    xy += x * y;
    yy += y * y;
  }
  const c2 = xx > 0 ? xy / xx : 0;
  return {constantMps2: meanY - c2 * meanX, roughMps2: Math.sqrt(Math.max(0, yy - c2 * xy) / n)};
}

function lowestValue(values: Float64Array): number {
  return values.reduce(
    (least, value) => Math.min(least, Number.isFinite(value) ? value : least),
    Number.POSITIVE_INFINITY,
  );
}
