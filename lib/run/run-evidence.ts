import type {Channel, Flag, Log} from "../result/log.ts";
import {type GearEvidence, gearEvidence} from "./gear.ts";
import {headingDeg} from "./heading.ts";
import {passesOfLog} from "./passes.ts";
import type {Stretch} from "./stretches.ts";

/** Looked at before and behind a run [s], as flags of a pass do. */
const AROUND_S = 2;
/** Flags are of a band this much inside the run's own speeds [m/s]. */
const INSIDE_MPS = 0.5;

/** What the log says of a stretch beside its speed. */
export function runEvidence(
  log: Log,
  speed: Channel,
  rows: Stretch,
  {maxGapS, startS, endS}: {maxGapS: number; startS: number; endS: number},
): GearEvidence & {headingDeg: number | null; flags: Flag[]} {
  // with some samples around it, as flags look before and behind a pass
  let {first, end} = rows;
  while (first > 0 && log.timeS[first] > startS - AROUND_S) first--;
  while (end < log.timeS.length && log.timeS[end - 1] < endS + AROUND_S) end++;
  const part: Log = {
    ...log,
    timeS: log.timeS.subarray(first, end),
    channels: log.channels.map(channel => ({...channel, values: channel.values.subarray(first, end)})),
    // rows that share a stamp are counted for the whole log; their share is that of the part
    unread: {
      ...log.unread,
      rows: log.unread.rows.map(row => ({...row, count: (row.count * (end - first)) / log.timeS.length})),
    },
  };
  const [one, other] = [speed.values[rows.first], speed.values[rows.end - 1]];
  const inwards = Math.sign(other - one) * INSIDE_MPS;
  const flags = new Set<Flag>();
  if (Math.min(one, other) > 1 && Math.abs(other - one) > 2 * INSIDE_MPS) {
    const band = {fromMps: one + inwards, toMps: other - inwards, unit: "m/s", gear: null};
    for (const pass of passesOfLog(part, band, {maxGapS})) for (const flag of pass.flags) flags.add(flag);
  }
  return {
    headingDeg: headingDeg(log, speed.values, rows),
    ...gearEvidence(log, speed.values, rows),
    flags: [...flags],
  };
}
