import type {Span} from "../log/focus.ts";
import {type ReadLogOptions, readLog} from "../log/read.ts";
import type {Log} from "../result/log.ts";
import type {Band} from "../result/session.ts";
import {defaultMaxGapS} from "../series/steps.ts";
import {type Pass, passesOfLog, passesThroughBand} from "./passes.ts";
import {usableChannel} from "./usable-channel.ts";

/** Held whole: what passes are found by, and what grade and power come from. */
const HELD = ["speed", "height", "latitude"];
/** Doubts about a pass look at so much before and behind it at most [s]. */
const MARGIN_S = 60;

/**
 * Reads a log for its passes through a band. One larger than memory is read for time and speed first, and then once more around
 * each pass for the doubts about it: what comes out is the same as for the whole log.
 *
 * @param options.aboveBytes tables larger than this are read that way [bytes]; default 128 MiB
 * @returns the log, and what finds its passes, which throws as `passesOfLog`
 * @throws {InputError} as `readLog`; 2: the band is empty or touches standstill
 */
export function readForPasses(
  file: string,
  band: Band,
  {maxGapS, aboveBytes, ...read}: Omit<ReadLogOptions, "only"> & {maxGapS?: number; aboveBytes?: number} = {},
): {log: Log; passes: () => Pass[]} {
  const found: Pass[] = [];
  const near = (whole: Log) => {
    const speed = usableChannel(whole, "speed");
    const {timeS} = whole;
    const samples = timeS.length;
    const gapS =
      maxGapS ?? defaultMaxGapS(speed ? timeS.filter((_, i) => Number.isFinite(speed.values[i])) : timeS);
    const margin = MARGIN_S + gapS;
    const plain = speed ? passesThroughBand(timeS, speed.values, band, {maxGapS: gapS}) : [];
    return {
      spans: plain.map(pass => ({
        fromS: pass.startS - margin,
        toS: pass.startS + pass.elapsedS + margin,
      })),
      use(part: Log, span: Span) {
        const own = passesOfLog(part, band, {maxGapS: gapS, samples});
        found.push(...own.filter(({startS}) => startS - margin === span.fromS));
      },
    };
  };
  const log = readLog(file, {...read, only: {quantities: HELD, others: "ranges", aboveBytes, near}});
  return {
    log,
    passes: () => (found.length > 0 ? found : passesOfLog(log, band, {maxGapS})),
  };
}
