import {chooseBandwidth, localPolynomial} from "../series/local-polynomial.ts";

/** A run between the ends of its pass, smoothed; n ≥ 2 values each, first and last at the ends. */
export interface SmoothPull {
  timeS: Float64Array;
  speedMps: Float64Array;
  accelerationMps2: Float64Array;
  /** along the common track [m] */
  placeM: Float64Array;
  /** resolution: half width of the smoothing, and what noise and smoothing leave in the acceleration */
  halfWidthS: number;
  noiseMps2: number;
  biasMps2: number;
}

/** Samples outside the pass that the smoothing may use [s]: full throttle has settled before and lasts after it. */
const BESIDE_S = 0.6;
/** A log slower than this leaves too few samples for slopes. */
const FEWEST = 12;

/**
 * Speed and acceleration of a run through its pass, by local parabolas of a width chosen between noise and bias.
 *
 * @param samples time, speed and place of the run, n each; samples without a speed left out by NaN
 * @param pass    ends of the pass [s] and the speeds there [m/s]
 * @returns null where fewer than 12 samples are in or beside the pass
 */
export function smoothPull(
  samples: {timeS: ArrayLike<number>; speedMps: ArrayLike<number>; placeM: ArrayLike<number>},
  pass: {startS: number; endS: number},
): SmoothPull | null {
  const rows: number[] = [];
  for (let i = 0; i < samples.timeS.length; i++) {
    const inside = samples.timeS[i] >= pass.startS - BESIDE_S && samples.timeS[i] <= pass.endS + BESIDE_S;
    if (inside && Number.isFinite(samples.speedMps[i])) rows.push(i);
  }
  endAtLift(rows, samples, pass.endS);
  if (rows.length < FEWEST) return null;
  const time = Float64Array.from(rows, row => samples.timeS[row]);
  const speed = Float64Array.from(rows, row => samples.speedMps[row]);
  const place = Float64Array.from(rows, row => samples.placeM[row]);
  if (time[0] > pass.startS || time[time.length - 1] < pass.endS) return null;
  const {halfWidthS, noise, bias} = chooseBandwidth(time, speed);
  const {values, slopes} = localPolynomial(time, speed, {halfWidthS});
  const inner = time.filter(at => at > pass.startS && at < pass.endS);
  const timeS = Float64Array.from([pass.startS, ...inner, pass.endS]);
  const at = (series: Float64Array) => timeS.map(when => straight(time, series, when));
  return {
    timeS,
    speedMps: at(values),
    accelerationMps2: at(slopes),
    placeM: at(place),
    halfWidthS,
    noiseMps2: noise,
    biasMps2: bias,
  };
}

/** Drops what comes after the highest speed behind the pass: there the driver has lifted, and its slope is not that of the pull. */
function endAtLift(
  rows: number[],
  {timeS, speedMps}: {timeS: ArrayLike<number>; speedMps: ArrayLike<number>},
  endS: number,
): void {
  const behind = rows.findIndex(row => timeS[row] >= endS);
  if (behind < 0) return;
  let last = behind;
  for (let k = behind; k < rows.length; k++) if (speedMps[rows[k]] > speedMps[rows[last]]) last = k;
  rows.length = last + 1;
}

function straight(timeS: Float64Array, values: Float64Array, atS: number): number {
  let i = 1;
  while (i < timeS.length - 1 && timeS[i] < atS) i++;
  const share = (atS - timeS[i - 1]) / (timeS[i] - timeS[i - 1]);
  return values[i - 1] + share * (values[i] - values[i - 1]);
}
