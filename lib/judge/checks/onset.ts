import type {Band} from "../../result/session.ts";
import {smoothedSlope} from "../../series/slope.ts";
import {median} from "../../stats/quantile.ts";
import {type RunView, signOfBand} from "./run-view.ts";

/** Acceleration below this share of a pull's is no full throttle: a steady roll-in has none of it, charge pressure builds up through it in 0.3 s. */
const OPEN_SHARE = 0.4;
/** A pull's own acceleration is taken from this long after band entry to this long after it [s]. */
const PULL_FROM_S = 0.4;
const PULL_TO_S = 1.4;
/** Half the window over which acceleration is averaged [s]: at least two samples, at most what keeps the moment. */
const SHORTEST_HALF_S = 0.2;
const LONGEST_HALF_S = 0.8;
/** Noise of the averaged acceleration, as a share of the pull's: a fifth of what tells open from closed. */
const NOISE_SHARE = 0.1;
/** Onset is looked for up to this long before and after entry [s]. */
const SEARCH_BEFORE_S = 1.5;
const SEARCH_AFTER_S = 1;

/**
 * When a run began to accelerate as a pull does, against band entry [s]: −0.8 = 0.8 s before it, −∞ = from the first sample on. Null
 * where the log does not tell.
 */
export function onsetsOfAcceleration(views: readonly RunView[], band: Band): (number | null)[] {
  if (signOfBand(band) < 0) return views.map(() => null);
  const own = views.map(pullMps2);
  const known = own.filter(value => value !== null);
  if (known.length === 0) return views.map(() => null);
  const usualMps2 = median(known);
  if (!(usualMps2 > 0)) return views.map(() => null);
  return views.map(view => onset(view, usualMps2));
}

/** Mean acceleration from soon after entry, by the samples at both ends averaged [m/s²]. */
function pullMps2({timeS, speedMps, startS, endS}: RunView): number | null {
  const toS = Math.min(startS + PULL_TO_S, endS);
  const from = timeS.findIndex(
    time => time >= startS + PULL_FROM_S * Math.min(1, (endS - startS) / PULL_TO_S),
  );
  let to = from;
  while (to + 1 < timeS.length && timeS[to + 1] <= toS) to++;
  if (from < 0 || to - from < 2) return null;
  let [meanT, meanV] = [0, 0];
  for (let i = from; i <= to; i++) {
    meanT += timeS[i] / (to - from + 1);
    meanV += speedMps[i] / (to - from + 1);
  }
  let [products, squares] = [0, 0];
  for (let i = from; i <= to; i++) {
    products += (timeS[i] - meanT) * (speedMps[i] - meanV);
    squares += (timeS[i] - meanT) ** 2;
  }
  return products / squares;
}

function onset({timeS, speedMps, startS, stepS, noiseMps}: RunView, usualMps2: number): number | null {
  // white noise σ at rate 1/step leaves σ √(2 step) / w^1.5 in the slope of half windows w; see `smoothedSlope`
  const quiet = ((noiseMps * Math.sqrt(2 * stepS)) / (NOISE_SHARE * usualMps2)) ** (2 / 3);
  const half = Math.min(LONGEST_HALF_S, Math.max(SHORTEST_HALF_S, 2 * stepS, quiet));
  let first = 0;
  while (first < timeS.length && timeS[first] < startS - SEARCH_BEFORE_S - half) first++;
  let end = first;
  while (end < timeS.length && timeS[end] <= startS + SEARCH_AFTER_S + half) end++;
  if (end - first < 4) return null;
  const time = timeS.subarray(first, end);
  const slope = smoothedSlope(time, speedMps.subarray(first, end), half);
  const level = OPEN_SHARE * usualMps2;
  // Within one half window of its ends a slope is that of the nearest full window, so nothing is known there.
  let i = time.length - 1;
  while (i >= 0 && time[i] > Math.min(startS + SEARCH_AFTER_S, time[time.length - 1] - half)) i--;
  for (; i > 0 && time[i - 1] >= time[0] + half; i--) {
    if (!(slope[i - 1] < level && slope[i] >= level)) continue;
    return (
      time[i - 1] + ((level - slope[i - 1]) / (slope[i] - slope[i - 1])) * (time[i] - time[i - 1]) - startS
    );
  }
  return i >= 0 && slope[i] >= level ? Number.NEGATIVE_INFINITY : null;
}
