import {aliasedTerm, leastSquares} from "../stats/least-squares.ts";
import {loadOf, type RunConditions} from "./corrected-time.ts";
import type {SmoothPull} from "./smooth-pull.ts";

/** One run as wind is told from it. */
export interface WindRun {
  pull: SmoothPull;
  direction: "out" | "back";
  arm: string;
  /** its conditions without wind; grade from the joint profile */
  conditions: RunConditions;
}

/** Wind along the road, common to all runs of the group. */
export interface AlongWind {
  /** against a car that drives out [m/s] */
  headwindOutMps: number;
  /** standard uncertainty from the scatter of the runs [m/s]; null where no degree of freedom is left */
  scatterUMps: number | null;
  df: number;
}

/** What usual coastdown procedures allow: UN GTR 15 (WLTP), annex 4: 5 m/s mean, 8 m/s peak, 2 m/s across the road (from memory). */
export const WIND_LIMITS_MPS = {mean: 5, peak: 8, across: 2};

/**
 * Wind along the road from the difference of force between the directions: at full throttle both directions have the same power,
 * so what a run needs in still air, m_e a + F, is lower against the wind by ρ CdA v w.
 *
 * One wind for all runs of both arms, by least squares with a term for the arms; never run by run, which would take a part's effect
 * for wind. 0.1 % of grade looks like 0.75 m/s, so the grade has to come from a profile, and its error has to be added; see `gradeShare`.
 *
 * @returns null where one direction alone was driven, or arm and direction cannot be told apart
 */
export function windFromDirections(runs: readonly WindRun[]): AlongWind | null {
  if (runs.length < 3) return null;
  const needs = runs.map(meanNeed);
  const names = [...new Set(runs.map(run => run.arm))].sort();
  const signs = runs.map(run => (run.direction === "out" ? -1 : 1));
  const terms = [
    {name: "mean", values: runs.map(() => 1)},
    ...names.slice(1).map(name => ({name, values: runs.map(run => (run.arm === name ? 1 : 0))})),
    {
      name: "direction",
      // what 1 m/s against a car driving out takes from the force that it seems to have
      values: signs.map((sign, i) => sign * needs[i].perWind),
    },
  ];
  // by the directions alone: what sets the runs of a direction apart in the last column is too little to tell a wind by
  if (aliasedTerm([...terms.slice(0, -1), {name: "direction", values: signs}]) !== null) return null;
  const fit = leastSquares(
    needs.map(need => need.forceN),
    terms,
  );
  const at = terms.length - 1;
  return {
    headwindOutMps: fit.coefficients[at],
    scatterUMps: fit.standardErrors?.[at] ?? null,
    df: fit.df,
  };
}

/** Force that the run would need in still air, and what 1 m/s of headwind adds to it; means over speed between the ends of the pass. */
function meanNeed({pull, conditions}: WindRun): {forceN: number; perWind: number} {
  const still = {...conditions, headwindMps: 0};
  const {speedMps, accelerationMps2, placeM} = pull;
  const effectiveKg = conditions.massKg * conditions.rotatingFactor;
  let [forceN, perWind, span] = [0, 0, 0];
  for (let i = 1; i < speedMps.length; i++) {
    const dv = speedMps[i] - speedMps[i - 1];
    const speed = (speedMps[i] + speedMps[i - 1]) / 2;
    const place = (placeM[i] + placeM[i - 1]) / 2;
    const a = (accelerationMps2[i] + accelerationMps2[i - 1]) / 2;
    forceN += dv * (effectiveKg * a + loadOf(speed, place, still));
    perWind += dv * conditions.airDensityKgM3 * conditions.dragAreaM2 * speed;
    span += dv;
  }
  return {forceN: forceN / span, perWind: perWind / span};
}
