import {withOpenLog} from "../log/open-log.ts";
import type {ReadLogOptions} from "../log/read.ts";
import type {Log} from "../result/log.ts";
import type {Band} from "../result/session.ts";
import {requireRollingBand} from "./band.ts";
import {type Pass, passesOfLog} from "./passes.ts";
import {passesInFile} from "./passes-in-file.ts";

/**
 * Reads a log for its passes through a band. One larger than memory stays in its file and is read again around the passes: what comes
 * out is the same as for the whole log.
 *
 * @param options.aboveBytes tables larger than this are read that way [bytes]; default 128 MiB
 * @param use what else is made of a log or a part of it with the passes in it; `whole` tells of the whole log what ranges do
 * @returns the log, and what finds its passes, which throws as `passesOfLog` does
 * @throws {InputError} as `readLog`; 2: the band is empty or touches standstill
 */
export function readForPasses<T = never>(
  file: string,
  band: Band,
  {maxGapS, aboveBytes, ...read}: Omit<ReadLogOptions, "only"> & {maxGapS?: number; aboveBytes?: number} = {},
  use: (part: Log, passes: Pass[], whole: Log) => T[] = () => [],
): {log: Log; passes: Pass[]; about: T[]} {
  requireRollingBand(band);
  return withOpenLog(file, {...read, only: {quantities: ["speed"], aboveBytes}}, open => {
    const {log} = open;
    if (open.parts) return {log, ...passesInFile(open, band, maxGapS, (part, own) => use(part, own, log))};
    const passes = passesOfLog(log, band, {maxGapS});
    return {log, passes, about: use(log, passes, log)};
  });
}
