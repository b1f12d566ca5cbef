import {median} from "../stats/quantile.ts";
import type {FoundRun} from "./find-runs.ts";

/** Without throttle: pulls below this share of the hardest one at the same speeds are part throttle; one gear higher takes a third. */
const GENTLE_SHARE = 0.5;

/**
 * Pulls that reach less than half the acceleration of the hardest at the same speeds, where no throttle tells: ordinary
 * acceleration in traffic. A pull that no other shares its speeds with is not judged.
 */
export function gentlePulls(runs: readonly FoundRun[]): Set<FoundRun> {
  const pulls = runs.filter(({kind, toldBy}) => kind === "pull" && toldBy === "speed");
  const hardest = new Float64Array(Math.max(0, ...pulls.map(run => run.profileMps2.length)));
  for (const {profileMps2} of pulls) {
    profileMps2.forEach((value, k) => {
      if (value > hardest[k]) hardest[k] = value;
    });
  }
  return new Set(
    pulls.filter(({profileMps2}) => {
      const shares = profileMps2.map((value, k) => value / hardest[k]).filter(Number.isFinite);
      return shares.length > 0 && median(shares) < GENTLE_SHARE;
    }),
  );
}
