import type {ArmName} from "./session.ts";

/** The road of a day as all its runs tell it together, for figures. Places grow on the way out, from 0 at the first one covered [m]. */
export interface DayRoad {
  /** "positions" = placed by them; "distance" = by distance from band entry, start places taken as alike */
  by: "positions" | "distance";
  /** n places of the profile */
  placeM: Float64Array;
  /** height about its mean over these places, n values */
  heightM: Float64Array;
  /** rise over run, uphill positive on the way out, n values */
  grade: Float64Array;
  /** half widths of the 95 % intervals of shape and grade, n values each; null where one run alone tells */
  heightHalfWidthM: Float64Array | null;
  gradeHalfWidth: Float64Array | null;
  runs: RoadRun[];
  /** places between which the pulls ran, or null where no run has a pass */
  pulls: {fromM: number; toM: number} | null;
  /** spread of the heights about profile and offset [m] */
  residualSdM: number;
  /** what these heights cannot tell, in words */
  unknown: string[];
}

/** The heights of one run on the road, less its offset: m values each. */
export interface RoadRun {
  run: number;
  arm: ArmName;
  direction: "out" | "back" | null;
  placeM: Float64Array;
  heightM: Float64Array;
}
