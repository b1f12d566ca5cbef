import type {ArmName} from "../result/session.ts";
import type {Random} from "../stats/random.ts";
import {standardNoise} from "./noise.ts";
import type {PowerVariation} from "./scenario.ts";

/** How the power of one run came about. */
export interface RunPower {
  /** power over that of the cool baseline car */
  powerFactor: number;
  /** pulls' worth of heat that was left at the start of the run */
  heat: number;
  /** one of the runs that went wrong */
  bad: boolean;
}

/**
 * Draws the power of every run of a day.
 *
 * factor = (1 + part) (1 + run) (1 − drift·place) (1 − loss·heat) (1 + fitting), and (1 − bad loss) for a run that
 * went wrong. The runs' own deviations have one spread whatever their correlation.
 *
 * @param power   the part's relative change of power
 * @param arms    arm of each run in the order driven
 * @param minutes clock of each run [min]
 * @param fittings fitting number of each run, from 1
 */
export function drawPower(
  {power, variation}: {power: number; variation: PowerVariation},
  {
    arms,
    minutes,
    fittings,
  }: {arms: readonly ArmName[]; minutes: readonly number[]; fittings: readonly number[]},
  random: Random,
): RunPower[] {
  const {
    runSd,
    shape,
    lagOne,
    badShare,
    badLoss,
    driftLoss,
    heatLoss,
    heatRecoveryMin,
    fittingSd,
    carryOver,
  } = variation;
  const fittingShare = Array.from({length: Math.max(...fittings)}, () => fittingSd * random.normal());
  let deviation = 0;
  let heat = 0;
  return arms.map((arm, i): RunPower => {
    const fresh = standardNoise(random, shape);
    deviation = i === 0 ? fresh : lagOne * deviation + Math.sqrt(1 - lagOne * lagOne) * fresh;
    if (i > 0) heat = (heat + 1) * Math.exp((minutes[i - 1] - minutes[i]) / heatRecoveryMin);
    const bad = random.uniform() < badShare;
    const badness = bad ? badLoss * (0.5 + random.uniform()) : 0;
    const own = arm === "changed" ? 1 : 0;
    const before = i > 0 && arms[i - 1] === "changed" ? 1 : 0;
    const part = power * (i === 0 ? own : own + carryOver * (before - own));
    const powerFactor =
      (1 + part) *
      (1 + runSd * deviation) *
      (1 - driftLoss * i) *
      (1 - heatLoss * heat) *
      (1 + fittingShare[fittings[i] - 1]) *
      (1 - badness);
    return {powerFactor, heat, bad};
  });
}
