import type {Band} from "../../result/session.ts";
import {median} from "../../stats/quantile.ts";
import {MAD_TO_SD, type RunView, signOfBand} from "./run-view.ts";

/** A band is cut into equal steps of speed that the middle run takes about so long for [s]: a quick lift fills one. */
const STEP_S = 0.4;
const FEWEST_STEPS = 5;
const MOST_STEPS = 30;
/** Speed is averaged over so long before and behind a sample [s]: noise falls, and a lift of 0.3 s still shows whole. */
const SMOOTH_S = 0.15;
/** Entry by the smoothed speed lies within so long of that by single samples [s]. */
const ENTRY_SEARCH_S = 0.4;
/** Losses are looked for over one, two and three steps in a row. */
const WINDOWS = [1, 2, 3];
/**
 * A loss counts from so many robust standard deviations of all runs and steps. A day has some 300 windows that overlap, so the normal
 * tail would allow 3.5 for one false word in twenty days; the spread is estimated, and gusts have longer tails.
 */
const LOSS_SD = 4.8;
/** At entry, where slip and late power show, there are only three windows a run, so fewer are enough for the same caution. */
const ENTRY_LOSS_SD = 3.4;
/** … and from this share of a window's time: less is what gusts and a few metres of another place do. */
const LOSS_SHARE = 0.08;
/** … and from this time [s]: a twentieth of a second is the size of what a club test can see at all. */
const LOSS_S = 0.05;
/** Entry is the first second or so of a pull: slip, late boost and late throttle all end there. */
const ENTRY_S = 1;
/** With fewer runs there is no course to hold a run against. */
const FEWEST_RUNS = 3;

/** Time that a run lost in a part of the band against the course of the other runs of the day. */
export interface PaceLoss {
  view: RunView;
  fromMps: number;
  toMps: number;
  lostS: number;
  /** lost time over the time that this run, at its own pace elsewhere, would have taken there */
  share: number;
  /** the largest share in any part that counts: above 0.5 the car hardly pulled there */
  sharpest: number;
  /** it lies at band entry */
  atEntry: boolean;
}

/** The course of a day through the band. */
export interface PaceOfDay {
  /** the largest loss of each run that has one */
  losses: PaceLoss[];
  /** time of each run over that of the middle run, in the order of the views: 1.02 = 2 % slower all along */
  factors: number[];
  /** largest share that chance leaves unseen in one step: what this log can show */
  smallestShare: number;
}

/**
 * Compares each run's time through equal steps of speed with that of the middle run of its direction, its own overall pace taken out.
 * Power, mass and air change the pace all along; a lift, a brake, a gear change, wheelspin or a late throttle in one place only.
 *
 * The noise of such a step is √2 of that of speed over the step of speed, the same everywhere, so one robust spread serves all; where
 * one step scatters more in all runs (entry, after a crest) its own spread is taken.
 *
 * @returns null below three runs
 */
export function paceOfDay(views: readonly RunView[], band: Band): PaceOfDay | null {
  if (views.length < FEWEST_RUNS) return null;
  const middleS = median(views.map(view => view.endS - view.startS));
  const n = Math.min(MOST_STEPS, Math.max(FEWEST_STEPS, Math.round(middleS / STEP_S)));
  const stepMps = (band.toMps - band.fromMps) / n;
  const times = views.map(view => stepTimes(view, band, n));
  const groups = byDirection(views);
  const smallest = Math.min(...groups.map(group => group.length));
  const factors: number[] = views.map(() => 1);
  const expected: Float64Array[] = [];
  for (const group of groups) {
    const first = middleCourse(group.map(i => times[i]));
    for (const i of group) factors[i] = median(times[i].map((time, k) => time / first[k]));
    const course = middleCourse(group.map(i => times[i].map(time => time / factors[i])));
    for (const i of group) expected[i] = course.map(time => time * factors[i]);
  }
  const worst = new Map<RunView, PaceLoss>();
  let smallestShare = LOSS_SHARE;
  for (const width of WINDOWS) {
    const shares = times.map((own, i) => windowShares(own, expected[i], width));
    const overall = spread(
      shares.flatMap(own => [...own]),
      smallest,
    );
    for (let k = 0; k + width <= n; k++) {
      const sd = Math.max(
        overall,
        spread(
          shares.map(own => own[k]),
          smallest,
        ),
      );
      if (width === 1) smallestShare = Math.max(smallestShare, LOSS_SD * overall);
      for (const [i, view] of views.entries()) {
        const share = shares[i][k];
        const lostS = share * sumOf(expected[i], k, width);
        if (share < Math.max(LOSS_SHARE, (k === 0 ? ENTRY_LOSS_SD : LOSS_SD) * sd) || lostS < LOSS_S)
          continue;
        const known = worst.get(view);
        const sharpest = Math.max(share, known?.sharpest ?? 0);
        if (known && known.lostS >= lostS) {
          known.sharpest = sharpest;
          continue;
        }
        worst.set(view, {
          view,
          fromMps: band.fromMps + k * stepMps,
          toMps: band.fromMps + (k + width) * stepMps,
          lostS,
          share,
          sharpest,
          atEntry: sumOf(expected[i], 0, k) < ENTRY_S / 2 && sumOf(expected[i], 0, k + width) < 2 * ENTRY_S,
        });
      }
    }
  }
  return {losses: [...worst.values()], factors, smallestShare};
}

/** Places of the runs of one direction; a direction with too few runs has no course of its own, so all go together. */
function byDirection(views: readonly RunView[]): number[][] {
  const groups = new Map<string | null, number[]>();
  for (const [i, view] of views.entries()) {
    groups.set(view.direction, [...(groups.get(view.direction) ?? []), i]);
  }
  const found = [...groups.values()];
  return found.every(group => group.length >= FEWEST_RUNS) ? found : [views.map((_, i) => i)];
}

/** Time that a run takes for each of n equal steps of speed [s], from first crossings of its smoothed speed. */
function stepTimes(view: RunView, band: Band, n: number): Float64Array {
  const {timeS, startS, endS} = view;
  const sign = signOfBand(band);
  const smooth = runningMean(view);
  const crossed = new Float64Array(n + 1);
  let i = 1;
  while (i < timeS.length && timeS[i] <= startS - ENTRY_SEARCH_S) i++;
  crossed[0] = smoothEntry(i) ?? startS;
  crossed[n] = endS;
  while (i < timeS.length && timeS[i] <= crossed[0]) i++;
  for (let k = 1; k < n; k++) {
    const level = sign * (band.fromMps + (k / n) * (band.toMps - band.fromMps));
    while (i < timeS.length && sign * smooth[i] < level && timeS[i] < endS) i++;
    const [before, after] = [sign * smooth[i - 1], sign * (smooth[i] ?? smooth[i - 1])];
    const share = after > before ? Math.min(1, Math.max(0, (level - before) / (after - before))) : 1;
    const at = timeS[i - 1] + share * ((timeS[i] ?? endS) - timeS[i - 1]);
    crossed[k] = Math.min(endS, Math.max(crossed[k - 1], at));
  }
  return Float64Array.from({length: n}, (_, k) => crossed[k + 1] - crossed[k]);

  /** The entry that noise of single samples does not move; null where the smoothed speed is above it when the search begins. */
  function smoothEntry(from: number): number | null {
    const level = sign * band.fromMps;
    if (!(sign * smooth[from - 1] < level)) return null;
    for (let j = from; j < timeS.length && timeS[j] <= startS + ENTRY_SEARCH_S; j++) {
      const [before, after] = [sign * smooth[j - 1], sign * smooth[j]];
      if (after >= level)
        return timeS[j - 1] + ((level - before) / (after - before)) * (timeS[j] - timeS[j - 1]);
    }
    return null;
  }
}

/** Mean of the samples within `SMOOTH_S` of each sample. */
function runningMean({timeS, speedMps}: RunView): Float64Array {
  const mean = new Float64Array(timeS.length);
  let [low, high, sum] = [0, 0, 0];
  for (let i = 0; i < timeS.length; i++) {
    while (high < timeS.length && timeS[high] <= timeS[i] + SMOOTH_S) sum += speedMps[high++];
    while (timeS[low] < timeS[i] - SMOOTH_S) sum -= speedMps[low++];
    mean[i] = sum / (high - low);
  }
  return mean;
}

function middleCourse(times: readonly Float64Array[]): Float64Array {
  return times[0].map((_, k) => median(times.map(own => own[k])) || Number.MIN_VALUE);
}

/** Time in windows of `width` steps over what was expected there, less one. */
function windowShares(own: Float64Array, expected: Float64Array, width: number): Float64Array {
  return Float64Array.from(
    {length: own.length - width + 1},
    (_, k) => sumOf(own, k, width) / sumOf(expected, k, width) - 1,
  );
}

function sumOf(values: Float64Array, from: number, width: number): number {
  let sum = 0;
  for (let k = from; k < from + width; k++) sum += values[k];
  return sum;
}

/**
 * Robust standard deviation about a median that was taken from n values, n of the smallest group: too small by (n − 0.8)/n
 * (C. Croux and P. J. Rousseeuw, Compstat 1992, 411; from memory).
 */
function spread(values: readonly number[], n: number): number {
  return ((MAD_TO_SD * n) / (n - 0.8)) * median(values.map(Math.abs));
}
