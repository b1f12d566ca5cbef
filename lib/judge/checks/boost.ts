import {median} from "../../stats/quantile.ts";
import {type Check, doubtful, held, notCheckable} from "./check.ts";
import {channelInPass, MAD_TO_SD, type RunView} from "./run-view.ts";
import {percentOf} from "./words.ts";

/** Charge pressure at entry is the mean over so long after it [s]: one refresh of a slow bus. */
const ENTRY_S = 0.3;
/** A run whose pressure at entry, over its own in the band, is lower than usual by more than this share had not settled. */
const UNSETTLED_SHARE = 0.06;
/** … beyond so many robust standard deviations of the day's runs. */
const UNSETTLED_SD = 5;

export const boostCheck: Check = {
  name: "boost settled at entry",
  rule: "charge pressure at band entry, over that in the band, is what it is in the other runs",
  threshold: `${percentOf(UNSETTLED_SHARE)} below the middle run, and ${UNSETTLED_SD} robust standard deviations`,
  judge({used}) {
    const shares = used.map(entryShare);
    if (shares.some(share => share === null))
      return notCheckable("manifold pressure was not logged in every run");
    const known = shares as number[];
    const middle = median(known);
    const sd = MAD_TO_SD * median(known.map(share => Math.abs(share - middle)));
    const limit = Math.max(UNSETTLED_SHARE * Math.abs(middle), UNSETTLED_SD * sd);
    const late = used.filter((_, i) => middle - known[i] > limit);
    if (late.length > 0) {
      const words = late.map(view => `run ${view.run} at ${percent(known[used.indexOf(view)])}`);
      return doubtful(
        `charge pressure at entry, of that in the band, where the middle run has ${percent(middle)}: ${words.join("; ")}`,
      );
    }
    return held(`charge pressure at entry is ${percent(middle)} of that in the band, in every run alike`);
  },
};

function entryShare(view: RunView): number | null {
  const pressure = channelInPass(view, "manifold-pressure");
  if (!pressure) return null;
  const finite = pressure.values.filter(Number.isFinite);
  const entry = pressure.values.filter(
    (value, i) => Number.isFinite(value) && pressure.timeS[i] <= view.startS + ENTRY_S,
  );
  const middle = median(finite);
  return entry.length > 0 && middle > 0 ? median(entry) / middle : null;
}

function percent(share: number): string {
  return `${(100 * share).toFixed(0)} %`;
}
