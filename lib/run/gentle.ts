import {median} from "../stats/quantile.ts";
import type {FoundRun} from "./find-runs.ts";

/** Without throttle: pulls below this share of the hardest one are part throttle; one gear higher takes a third. */
const GENTLE_SHARE = 0.5;

/**
 * Pulls that reach less than half the acceleration of the hardest at the same or a higher speed, where no throttle tells: ordinary
 * acceleration in traffic. At a lower speed full throttle gives more, not less, but for an engine below its torque; so the
 * median over a pull's speeds is judged.
 */
export function gentlePulls(runs: readonly FoundRun[]): Set<FoundRun> {
  const pulls = runs.filter(({kind, toldBy}) => kind === "pull" && toldBy === "speed");
  const hardest = new Float64Array(Math.max(0, ...pulls.map(run => run.profileMps2.length)));
  for (const {profileMps2} of pulls) {
    profileMps2.forEach((value, k) => {
      if (value > hardest[k]) hardest[k] = value;
    });
  }
  for (let k = hardest.length - 2; k >= 0; k--) hardest[k] = Math.max(hardest[k], hardest[k + 1]);
  return new Set(
    pulls.filter(({profileMps2}) => {
      const shares = profileMps2.map((value, k) => value / hardest[k]).filter(Number.isFinite);
      return shares.length > 0 && median(shares) < GENTLE_SHARE;
    }),
  );
}
