import {studentTQuantile} from "../../stats/distributions.ts";
import {mean, standardDeviation} from "../../stats/summary.ts";
import {ARMS, type Check, doubtful, held, notCheckable} from "./check.ts";

/** Runs of one thing that leave their mean open by a tenth are not runs of one thing: something else was changing. */
const PRECISION = 0.1;

export const precisionCheck: Check = {
  name: "precision of each arm",
  rule: "p = t·s/(√n·mean), the half-width of the 95 % interval of an arm's mean as a share of it; what it says of the difference stands in the interval",
  threshold: `${100 * PRECISION} %; marks of the procedures at 2 and 3 %`,
  source: "p ≤ 2 %: 70/220/EEC (from memory); p ≤ 3 %: WLTP (from memory)",
  judge({used}) {
    const shares = ARMS.map(arm =>
      precisionOf(used.filter(view => view.arm === arm).map(view => view.endS - view.startS)),
    );
    if (shares.some(share => share === null)) return notCheckable("an arm has no spread of its own");
    const words = ARMS.map(
      (arm, i) => `p = ${(100 * shares[i]!).toFixed(1)} % of the band time in the ${arm} arm`,
    ).join(", ");
    const largest = Math.max(...(shares as number[]));
    if (largest > PRECISION)
      return doubtful(`${words}: the runs of an arm scatter too much to be runs of one thing`);
    const marks =
      largest <= 0.02
        ? "within the 2 % of 70/220/EEC"
        : largest <= 0.03
          ? "within the 3 % of WLTP"
          : "more than the 2 and 3 % that coastdown procedures ask of a mean";
    return held(`${words}, ${marks}`);
  },
};

function precisionOf(values: readonly number[]): number | null {
  const sd = values.length > 1 ? standardDeviation(values) : null;
  if (!sd) return null;
  return (studentTQuantile(0.975, values.length - 1) * sd) / Math.sqrt(values.length) / mean(values);
}
