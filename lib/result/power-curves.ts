import type {ArmName} from "./session.ts";

/** Wheel power of the runs of a day along road or engine speed, for figures; n values a curve. */
export interface PowerCurves {
  axis: "speed" | "engine-speed";
  /** middle of each cell: m/s, or r/min */
  at: Float64Array;
  runs: {run: number; arm: ArmName; powerW: Float64Array}[];
  /** mean of each arm with the half width of its own 95 % t interval at each place; null from one run */
  arms: Record<ArmName, {runs: number; meanW: Float64Array; halfWidthW: Float64Array | null}>;
  /** changed − baseline by the model of the plan, with a band that holds along the whole curve; null where the runs are too few */
  difference: {
    estimateW: Float64Array;
    halfWidthW: Float64Array;
    level: number;
    method: string;
    model: string;
    /** stretches of the axis over which the arms differ, with the mean difference */
    ranges: {from: number; to: number; meanW: number}[];
  } | null;
  /** why there is no difference, in words */
  tooFew: string | null;
  /** medians over the runs: half width of the smoothing, what it spans on the axis, what noise and smoothing leave in the power */
  resolution: {halfWidthS: number; span: number; noiseW: number; biasW: number};
  leftOut: {run: number; reason: string}[];
}

/** What makes the mean wheel power through the band uncertain: the level that both arms share, and the difference between them. */
export interface PowerBudget {
  /** mean over the runs of the baseline [W] */
  meanW: number;
  rows: {input: string; value: string; levelUW: number; differenceUW: number}[];
  /** root sums of squares [W] */
  levelUW: number;
  differenceUW: number;
  /** changed − baseline of the means, within directions where both arms drove both [W] */
  differenceW: number;
  /** what an error in the runs of the changed arm alone does, and how large it has to be to erase or fake the difference */
  sensitivity: {input: string; step: number; unit: string; effectW: number; toErase: number | null}[];
}
