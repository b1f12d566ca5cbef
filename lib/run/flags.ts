import {LEAST_GOOD_FIX} from "../log/fix-scale.ts";
import type {Flag} from "../result/log.ts";
import {type PassEvidence, stepsBetween} from "./pass-evidence.ts";

/** What a receiver says of its fix, one value a sample; NaN = no value. */
export interface FixQuality {
  satellites?: Float64Array;
  hdop?: Float64Array;
  speedAccuracyMps?: Float64Array;
  /** kind of fix on the scale of the channel "fix": 0 none, 1 estimated, 2 without height, 3 with it, 4 and more corrected */
  fix?: Float64Array;
}

/** A step of more than so many median steps means two samples in a row are missing … */
const GAP_STEPS = 3;
/** … unless it is shorter than this [s]: loggers on a bus hesitate. */
const GAP_S = 0.2;
/** Fewer samples than this in a pass do not show its course. */
const FEW_SAMPLES = 10;
/** Number formats coarser than this [m/s] are worse than a satellite receiver's own noise several times over. */
const COARSE_SPEED_MPS = 0.2;
/** No road car on road tyres accelerates or brakes harder for the length of a sample [m/s²]; 0.8 g. */
const IMPLAUSIBLE_MPS2 = 8;
/** A speed that stands still for this long [s] and then jumps was not measured meanwhile. */
const FROZEN_S = 1;
/** A jump out of standing still, as change of speed [m/s], beyond what a pull makes in a sample. */
const JUMP_MPS = 1;
/** Zero next to a sample faster than this [m/s] is a lost value, not a stop. */
const ROLLING_MPS = 5;
/** Four satellites solve for place and clock; the fifth is the first that can show an error. */
const FEW_SATELLITES = 5;
/** Horizontal dilution above this doubles the errors of a common open sky. */
const HIGH_HDOP = 4;
/** The receiver's own figure for its speed above this [m/s] is ten times a good fix. */
const POOR_SPEED_MPS = 0.5;

/** Doubts about a pass, in the order of the list of flags. */
export function passFlags(evidence: PassEvidence, fix: FixQuality | undefined): Flag[] {
  const {pass, speedStepMps, stampS, holdS} = evidence;
  const doubts: [Flag, boolean][] = [
    ["gap", hasGap(evidence)],
    ["coarse-time", stampS > 0 || pass.endIndex - pass.startIndex < FEW_SAMPLES],
    ["coarse-speed", speedStepMps > COARSE_SPEED_MPS],
    ["held-samples", holdS > 0],
    ["implausible-acceleration", hardestMps2(evidence) > IMPLAUSIBLE_MPS2],
    ["frozen-speed", isFrozen(evidence)],
    ["zero-speed", hasZero(evidence)],
    ["poor-fix", fix !== undefined && isPoor(evidence, fix)],
  ];
  return doubts.flatMap(([flag, present]) => (present ? [flag] : []));
}

function hasGap({timeS, pass, stepS}: PassEvidence): boolean {
  const longest = Math.max(...stepsBetween(timeS, pass.startIndex - 1, pass.endIndex));
  return longest > Math.max(GAP_STEPS * stepS, GAP_S);
}

/** Largest change of speed over time between two changes that touch the pass [m/s²], a step of the number format allowed. */
function hardestMps2({timeS, speedMps, changes, pass, speedStepMps}: PassEvidence): number {
  let hardest = 0;
  for (let k = 1; k < changes.length; k++) {
    const [from, to] = [changes[k - 1], changes[k]];
    if (to < pass.startIndex || from > pass.endIndex) continue;
    const change = Math.abs(speedMps[to] - speedMps[from]) - speedStepMps;
    hardest = Math.max(hardest, change / (timeS[to] - timeS[from]));
  }
  return hardest;
}

/** True where speed stands still and then jumps, before or in the pass; holding by the logger is no freezing. */
function isFrozen({timeS, speedMps, changes, holdS, speedStepMps}: PassEvidence): boolean {
  for (let k = 1; k < changes.length; k++) {
    const stoodS = timeS[changes[k] - 1] - timeS[changes[k - 1]];
    const jump = Math.abs(speedMps[changes[k]] - speedMps[changes[k] - 1]);
    if (stoodS >= Math.max(FROZEN_S, 3 * holdS) && jump > Math.max(JUMP_MPS, 3 * speedStepMps)) return true;
  }
  return false;
}

function hasZero({speedMps, first, end}: PassEvidence): boolean {
  for (let i = first; i < end; i++) {
    if (speedMps[i] !== 0) continue;
    if ((i > first && speedMps[i - 1] > ROLLING_MPS) || (i + 1 < end && speedMps[i + 1] > ROLLING_MPS))
      return true;
  }
  return false;
}

function isPoor({pass}: PassEvidence, {satellites, hdop, speedAccuracyMps, fix}: FixQuality): boolean {
  for (let i = pass.startIndex - 1; i <= pass.endIndex; i++) {
    if (satellites && satellites[i] < FEW_SATELLITES) return true; // NaN compares false
    if (fix && fix[i] < LEAST_GOOD_FIX) return true;
    if (hdop && hdop[i] > HIGH_HDOP) return true;
    if (speedAccuracyMps && speedAccuracyMps[i] > POOR_SPEED_MPS) return true;
  }
  return false;
}
