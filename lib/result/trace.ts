import type {ArmName} from "./session.ts";

/** Speed of one run around its pass, for figures. */
export interface RunTrace {
  run: number;
  arm: ArmName;
  used: boolean;
  /** time since band entry [s], length n */
  timeS: Float64Array;
  /** speed [m/s], length n */
  speedMps: Float64Array;
}
