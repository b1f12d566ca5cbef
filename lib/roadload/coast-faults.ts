import {smoothedSlope} from "../series/slope.ts";
import {median} from "../stats/quantile.ts";
import type {CoastRun, RunFit} from "./coast-run.ts";
import {levelForceN} from "./coefficients.ts";
import {STANDARD_GRAVITY_MPS2} from "./road-load.ts";

/** Half window over which acceleration is looked at [s]. */
const HALF_WINDOW_S = 1;
/** Road load at 200 km/h is below this [m/s²]; brakes take more. */
const HARDEST_MPS2 = 1.2;
/** A car that only rolls gains no speed; noise of a logger and a dip leave less than this [m/s²]. */
const RISING_MPS2 = 0.15;
/** What gusts and a logger leave about a fit [m/s]; a force that changes within the run leaves more. */
const ROUGH_MPS = 0.4;
/** Runs of one direction share car and road; wind of 1.5 m/s moves the force at 80 km/h by 12 %. */
const APART = 0.25;
/** Rolling force over weight: tyres on asphalt stay below 0.015 (from memory), so more than this is a brake or a gear. */
const MOST_ROLLING = 0.03;

/**
 * Why a run is no coastdown, one text a run or null: it speeds up, brakes, its force changes within the run, or is far from
 * that of the other runs of its direction.
 *
 * A gear or a light brake held all the time in every run looks like rolling resistance; only its size gives it away.
 *
 * @param fits of each run, as `fitCoastdown` gives them; null where there are none yet, then only the speed is looked at
 */
export function coastFaults(
  runs: readonly CoastRun[],
  fits: readonly RunFit[] | null,
  {massKg}: {massKg: number},
): (string | null)[] {
  return runs.map((run, i) => {
    const {timeS, speedMps} = run;
    const slopes = smoothedSlope(timeS, speedMps, HALF_WINDOW_S);
    const at = (row: number) => `at ${timeS[row].toFixed(1)} s`;
    const rising = slopes.findIndex(slope => slope > RISING_MPS2);
    if (rising >= 0)
      return `it speeds up ${at(rising)}: a coastdown has the throttle closed and the gear out; cut the run with from and to, or take it out`;
    const hard = slopes.findIndex(slope => slope < -HARDEST_MPS2);
    if (hard >= 0)
      return `it slows down by ${(-slopes[hard]).toFixed(1)} m/s² ${at(hard)}, harder than air and tyres do: a brake; cut the run with from and to, or take it out`;
    const fit = fits?.[i];
    if (!fit) return null;
    if (fit.residualSdMps > ROUGH_MPS) {
      const worst = fit.residualsMps.reduce(
        (best, value, row) => (Math.abs(value) > Math.abs(fit.residualsMps[best]) ? row : best),
        0,
      );
      return `no constant road load fits it (${fit.residualSdMps.toFixed(2)} m/s are left, most ${at(worst)}): a brake, a gear or a slope for part of the run; look at it, cut it or take it out`;
    }
    const rolling = fit.load.f0N / (massKg * STANDARD_GRAVITY_MPS2);
    if (rolling > MOST_ROLLING)
      return `its rolling force is ${(100 * rolling).toFixed(1)} % of the weight, more than tyres hold: a brake that drags or a gear left in; take it out`;
    const others = runs.flatMap((other, k) =>
      k !== i && other.direction === run.direction ? [fits![k]] : [],
    );
    if (others.length < 2) return null;
    const middle = (speedMps[0] + speedMps[speedMps.length - 1]) / 2;
    const typical = median(others.map(other => levelForceN(other.load, middle)));
    const share = levelForceN(fit.load, middle) / typical - 1;
    if (Math.abs(share) <= APART) return null;
    return `its force at ${(3.6 * middle).toFixed(0)} km/h is ${Math.abs(100 * share).toFixed(0)} % ${share > 0 ? "above" : "below"} that of the other runs ${run.direction ?? ""}: ${share > 0 ? "a brake that drags or a gear left in" : "a push, throttle or another road"}; take it out with its reason`;
  });
}
