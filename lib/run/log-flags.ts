import {DERIVED_SPEED_COLUMN} from "../log/derived-speed.ts";
import type {Channel, Flag, Log} from "../result/log.ts";
import type {Pass} from "./passes.ts";
import {isReceiverLate} from "./receiver-lag.ts";
import {faultyColumns} from "./sensor-default.ts";
import {wheelsDisagree} from "./wheel-slip.ts";

/** Doubts about a pass that the rest of its log raises, in the order of the list of flags. */
export function logFlags(log: Log, speed: Channel, pass: Pass): Flag[] {
  const doubts: [Flag, boolean][] = [
    ["derived-speed", speed.column === DERIVED_SPEED_COLUMN],
    ["receiver-smoothing", isReceiverLate(log, speed, pass)],
    ["sensor-default", faultyColumns(log, pass).length > 0],
    ["wheel-speed-mismatch", wheelsDisagree(log, speed, pass)],
  ];
  return doubts.flatMap(([flag, present]) => (present ? [flag] : []));
}
