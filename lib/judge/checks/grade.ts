import {usableChannel} from "../../run/usable-channel.ts";
import {type Check, doubtful, held, notCheckable} from "./check.ts";
import {armDifference} from "./conditions.ts";
import type {RunView} from "./run-view.ts";
import {meanOf, percentOf, signed} from "./words.ts";

/** 2° of slope: EPA SmartWay allows no more change of grade on a track. */
const STEEPEST = 0.035;
/** SAE J1263 wants less for a coastdown; a comparison on one road shares it between the arms. */
const FLAT = 0.005;
/** Heights tell a slope only over such a length [m]: they wander by half a metre and more. */
const SHORTEST_M = 50;

export const gradeCheck: Check = {
  name: "grade",
  rule: "the road is not steep, and both arms climb the same",
  threshold: `${percentOf(STEEPEST)} of mean grade; mark of the coastdown procedure at ${percentOf(FLAT)}`,
  source:
    "grade < 0.5 %: SAE J1263; change of grade ≤ 2°: EPA SmartWay; > 0.02 % must enter the analysis: 40 CFR 1066.310",
  judge({used, explain}) {
    const grades = new Map<RunView, number>();
    for (const view of used) {
      const grade = meanGrade(view);
      if (grade === null) return notCheckable("heights were not logged through the band of every run");
      grades.set(view, grade);
    }
    const ways = [...new Set(used.map(view => view.direction))].map(way => {
      const here = used.filter(view => view.direction === way).map(view => grades.get(view)!);
      return {way, grade: meanOf(here)};
    });
    const difference = armDifference(used, grades, true);
    const explains = difference === null ? null : explain({grade: difference});
    const climbs = ways
      .map(({way, grade}) => `${signed(100 * grade, 2)} %${way === null ? "" : ` on the way ${way}`}`)
      .join(", ");
    const between =
      difference === null
        ? ""
        : `; by their own heights the arms differ by ${signed(100 * difference, 2)} %${explains === null ? "" : `, which would explain ${signed(explains, 3)} s if it is not scatter of the heights`}`;
    const words = `mean grade in the band ${climbs}${between}`;
    const steepest = Math.max(...ways.map(({grade}) => Math.abs(grade)));
    if (steepest > STEEPEST)
      return doubtful(`${words}: too steep for times that are not corrected`, explains);
    const mark =
      steepest > FLAT
        ? "over the 0.5 % of SAE J1263, which both arms share"
        : "within the 0.5 % of SAE J1263";
    return held(`${words} (${mark})`, explains);
  },
};

/** Slope of height over distance through the band by least squares, or null. */
function meanGrade({loaded: {log}, first, end}: RunView): number | null {
  const height = usableChannel(log, "height")?.values;
  const speed = usableChannel(log, "speed")?.values;
  if (!height || !speed) return null;
  let [distance, n, sx, sy, sxx, sxy] = [0, 0, 0, 0, 0, 0];
  for (let i = first; i < end; i++) {
    if (i > first && Number.isFinite(speed[i])) distance += speed[i] * (log.timeS[i] - log.timeS[i - 1]);
    if (!Number.isFinite(height[i])) continue;
    const y = height[i] - height[first];
    n++;
    sx += distance;
    sy += y;
    sxx += distance * distance;
    sxy += distance * y;
  }
  const spread = n * sxx - sx * sx;
  if (distance < SHORTEST_M || n < 3 || !(spread > 0)) return null;
  const grade = (n * sxy - sx * sy) / spread;
  return Number.isFinite(grade) ? grade : null;
}
