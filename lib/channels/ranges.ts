import type {CurveBand} from "../stats/curve-band.ts";
import type {ChannelCurves} from "./curves.ts";

/** A stretch of the axis over which the arms differ. */
export interface DifferingRange {
  /** in the unit of the axis */
  from: number;
  to: number;
  /** first to last of its cells whose band is clear of zero: what is shown; the rest of the range is an estimate */
  clear: {from: number; to: number};
  /** mean difference over it, changed − baseline, in the unit of the channel */
  mean: number;
  /** smallest adjusted p within it */
  p: number;
}

/** A range ends where the difference has fallen to this share of its mean: half a step between "differs" and "does not". */
const EDGE_SHARE = 0.5;

/**
 * Where the arms differ: cells whose band is clear of zero, widened to where the difference has fallen to half of its mean over
 * them. That a difference lies within a range is what the band holds for; its ends are estimates.
 */
export function differingRanges({at, step}: ChannelCurves, band: CurveBand): DifferingRange[] {
  const {estimate, standardError, factor, adjustedP, level} = band;
  const n = at.length;
  const sign = Int8Array.from(estimate, (value, k) =>
    standardError[k] > 0 && Math.abs(value) > factor * standardError[k] && adjustedP[k] <= 1 - level
      ? Math.sign(value)
      : 0,
  );
  const ranges: {first: number; last: number; clearFirst: number; clearLast: number}[] = [];
  for (let k = 0; k < n; k++) {
    if (sign[k] === 0) continue;
    let end = k;
    while (end + 1 < n && sign[end + 1] === sign[k]) end++;
    const {first, last} = widened(estimate, k, end);
    const before = ranges[ranges.length - 1];
    if (before && before.last >= first && Math.sign(estimate[before.last]) === sign[k]) {
      before.last = Math.max(before.last, last);
      before.clearLast = end;
    } else ranges.push({first, last, clearFirst: k, clearLast: end});
    k = end;
  }
  return ranges.map(({first, last, clearFirst, clearLast}) => ({
    from: at[first] - step / 2,
    to: at[last] + step / 2,
    clear: {from: at[clearFirst] - step / 2, to: at[clearLast] + step / 2},
    mean: meanOf(estimate, first, last),
    p: Math.min(...adjustedP.subarray(first, last + 1)),
  }));
}

/** Cells on both sides in which the difference is still more than half of its mean over the cells given. */
function widened(estimate: Float64Array, first: number, last: number): {first: number; last: number} {
  const edge = EDGE_SHARE * meanOf(estimate, first, last);
  const isIn = (k: number) => (edge > 0 ? estimate[k] > edge : estimate[k] < edge);
  while (first > 0 && isIn(first - 1)) first--;
  while (last + 1 < estimate.length && isIn(last + 1)) last++;
  return {first, last};
}

function meanOf(values: Float64Array, first: number, last: number): number {
  let sum = 0;
  for (let k = first; k <= last; k++) sum += values[k];
  return sum / (last - first + 1);
}
