import {type ReadLogOptions, readLog} from "../log/read.ts";
import type {Log} from "../result/log.ts";
import type {Band} from "../result/session.ts";
import {defaultMaxGapS} from "../series/steps.ts";
import {passesThroughBand} from "./passes.ts";
import {usableChannel} from "./usable-channel.ts";

/** Doubts about a pass look at so much before and behind it at most [s]. */
const MARGIN_S = 60;

/**
 * Reads a log for its passes through a band. One larger than memory is read for time and speed first, and then once more around
 * the passes: `passesOfLog(log, band, options)` gives the same as for the whole log.
 *
 * @param options.aboveBytes tables larger than this are read that way [bytes]; default 128 MiB
 * @throws {InputError} as `readLog`; 2: the band is empty or touches standstill
 */
export function readForPasses(
  file: string,
  band: Band,
  {maxGapS, aboveBytes, ...read}: Omit<ReadLogOptions, "only"> & {maxGapS?: number; aboveBytes?: number} = {},
): {log: Log; options: {maxGapS?: number; samples?: number}} {
  const options: {maxGapS?: number; samples?: number} = {maxGapS};
  const spans = (whole: Log) => {
    const speed = usableChannel(whole, "speed");
    if (speed === null) return [];
    const {timeS} = whole;
    options.samples = timeS.length;
    options.maxGapS ??= defaultMaxGapS(timeS.filter((_, i) => Number.isFinite(speed.values[i])));
    const margin = MARGIN_S + options.maxGapS;
    return passesThroughBand(timeS, speed.values, band, options).map(({startS, elapsedS}) => ({
      fromS: startS - margin,
      toS: startS + elapsedS + margin,
    }));
  };
  const only = {quantities: ["speed"], others: "ranges" as const, aboveBytes, spans};
  return {log: readLog(file, {...read, only}), options};
}
