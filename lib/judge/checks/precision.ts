import {studentTQuantile} from "../../stats/distributions.ts";
import {ARMS, type Check, doubtful, held, notCheckable} from "./check.ts";
import type {RunView} from "./run-view.ts";
import {meanOf, percentOf} from "./words.ts";

/** Runs of one thing that leave their mean open by a tenth are not runs of one thing: something else was changing. */
const PRECISION = 0.1;

export const precisionCheck: Check = {
  name: "precision of each arm",
  rule: "p = t·s/(√n·mean), the half-width of the 95 % interval of an arm's mean as a share of it, each direction about its own mean; what it says of the difference stands in the interval",
  threshold: `${percentOf(PRECISION)}; marks of the procedures at 2 and 3 %`,
  source: "p ≤ 2 %: 70/220/EEC (from memory); p ≤ 3 %: WLTP (from memory)",
  judge({used}) {
    const shares = ARMS.map(arm => precisionOf(used.filter(view => view.arm === arm)));
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

/** Each direction about its own mean, so that the road does not count as scatter. */
function precisionOf(views: readonly RunView[]): number | null {
  const directions = new Set(views.map(view => view.direction));
  const df = views.length - directions.size;
  if (df < 1) return null;
  const time = ({startS, endS}: RunView) => endS - startS;
  let squares = 0;
  for (const direction of directions) {
    const times = views.filter(view => view.direction === direction).map(time);
    const middle = meanOf(times);
    for (const own of times) squares += (own - middle) ** 2;
  }
  if (squares === 0) return null;
  const sd = Math.sqrt(squares / df);
  return (studentTQuantile(0.975, df) * sd) / Math.sqrt(views.length) / meanOf(views.map(time));
}
