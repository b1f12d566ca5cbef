import {median, quantile} from "../../stats/quantile.ts";
import {channelInPass, MAD_TO_SD, type RunView} from "./run-view.ts";

/** Ratio is looked at in pieces of so long [s]: a slip at entry lasts half a second. */
const PIECE_S = 0.4;
/** Looked at from this long before band entry [s]. */
const LEAD_S = 0.3;
/** Entry ends so long after band entry [s]. */
const ENTRY_S = 1.2;
/** A gear more than this apart is another one: neighbouring gears are 12 % apart and more, tyres and slip a few per cent. */
export const OTHER_GEAR_SHARE = 0.08;
/** Slip above what the day's runs have in the same place; a tyre at full throttle runs 1–3 % ahead of the road anyway. */
export const SLIP_SHARE = 0.035;
/** … and beyond so many robust standard deviations of the day's runs: logged engine speed comes late and in steps. */
const RATIO_SD = 5;

/** Engine speed (or wheel speed) over road speed of one run. */
export interface RatioOfRun {
  view: RunView;
  /** its settled value, in whatever unit */
  ratio: number;
  /** largest excess at band entry over the settled ratio, beyond that of the other runs; 0 where nothing counts */
  slipShare: number;
  /** largest departure after entry from the settled ratio, beyond that of the other runs, with its sign */
  departureShare: number;
  /** departure that would count [1] */
  noticeableShare: number;
}

/** Ratios of the runs that log the quantity; `missing` are those that do not. */
export interface GearRatios {
  runs: RatioOfRun[];
  missing: RunView[];
  /** runs of another ratio than that of the largest group of runs */
  others: RatioOfRun[];
}

/**
 * A rotating speed over road speed, run by run, in short pieces of time after entry. Lag and steps of the logged speed bend every
 * run's ratio alike, so each piece is held against the day's runs; the settled ratio is the median of the later half.
 *
 * @param channel "engine-speed" or "vehicle-speed" (wheels against satellite)
 */
export function gearRatios(views: readonly RunView[], channel: string): GearRatios {
  const found = views.map(view => ({view, pieces: ratioPieces(view, channel)}));
  const missing = found.filter(entry => !entry.pieces).map(entry => entry.view);
  const runs = found.flatMap(({view, pieces}) => {
    if (!pieces) return [];
    const later = pieces.filter((value, k) => Number.isFinite(value) && k >= pieces.length / 2);
    const ratio = later.length > 0 ? median(later) : median(pieces.filter(Number.isFinite));
    return [{view, ratio, shares: pieces.map(value => value / ratio - 1)}];
  });
  if (runs.length === 0) return {runs: [], missing, others: []};
  const most = Math.max(...runs.map(run => run.shares.length));
  const usual = Array.from({length: most}, (_, k) => {
    const here = runs.map(run => run.shares[k]).filter(Number.isFinite);
    if (here.length === 0) return {low: 0, middle: 0, sd: 0};
    const middle = median(here);
    // Slip only adds, and may be in half of the runs: a low quantile is what the runs without it have.
    return {
      low: quantile(here, 0.25),
      middle,
      sd: MAD_TO_SD * median(here.map(share => Math.abs(share - middle))),
    };
  });
  const noise = median(usual.map(piece => piece.sd));
  const entryPieces = Math.round((LEAD_S + ENTRY_S) / PIECE_S);
  const judged = runs.map(({view, ratio, shares}): RatioOfRun => {
    const noticeable = (k: number) =>
      Math.max(SLIP_SHARE, RATIO_SD * Math.max(noise, Math.min(usual[k].sd, 2 * noise)));
    let [slipShare, departureShare] = [0, 0];
    for (const [k, share] of shares.entries()) {
      if (!Number.isFinite(share)) continue;
      if (k < entryPieces) {
        const excess = share - usual[k].low;
        if (excess > noticeable(k)) slipShare = Math.max(slipShare, excess);
      }
      const departure = share - usual[k].middle;
      if (
        k >= entryPieces &&
        Math.abs(departure) > noticeable(k) &&
        Math.abs(departure) > Math.abs(departureShare)
      ) {
        departureShare = departure;
      }
    }
    return {view, ratio, slipShare, departureShare, noticeableShare: Math.max(SLIP_SHARE, RATIO_SD * noise)};
  });
  return {runs: judged, missing, others: otherGears(judged)};
}

/** Median ratio of each piece, NaN where a piece has no sample; null where the channel is not logged. */
function ratioPieces(view: RunView, channel: string): number[] | null {
  const turning = channelInPass(view, channel, LEAD_S);
  const speed = channelInPass(view, "speed", LEAD_S);
  if (!turning || !speed) return null;
  const pieces: number[][] = [];
  for (const [i, timeS] of turning.timeS.entries()) {
    const ratio = turning.values[i] / speed.values[i];
    if (!(Number.isFinite(ratio) && ratio > 0)) continue;
    const k = Math.floor((timeS - view.startS + LEAD_S) / PIECE_S);
    pieces[k] ??= [];
    pieces[k].push(ratio);
  }
  const middles = Array.from(pieces, values => (values ? median(values) : Number.NaN));
  return middles.filter(Number.isFinite).length >= 3 ? middles : null;
}

/** Runs outside the largest group of like ratios. */
function otherGears(runs: readonly RatioOfRun[]): RatioOfRun[] {
  const like = (a: number) => runs.filter(run => Math.abs(run.ratio / a - 1) <= OTHER_GEAR_SHARE);
  const largest = runs.map(run => like(run.ratio)).reduce((a, b) => (b.length > a.length ? b : a), []);
  return runs.filter(run => !largest.includes(run));
}
