import {requireChannel} from "../log/channel.ts";
import type {OpenLog} from "../log/open-log.ts";
import type {Stretch} from "../log/parts.ts";
import {medianOfPieces} from "../log/piece-median.ts";
import {forEachPair, stepsOf, type Values} from "../log/values.ts";
import type {Log} from "../result/log.ts";
import type {Band} from "../result/session.ts";
import {type LevelPass, levelPassFinder} from "../series/passes.ts";
import {gapOfMedianStepS} from "../series/steps.ts";
import {type Pass, passesOfLog} from "./passes.ts";

/** Doubts about a pass look at so much before and behind it at most [s] … */
const MARGIN_S = 20;
/** … and its number format is told by so many samples with a speed. */
const MARGIN_SAMPLES = 2000;
/** Passes whose surroundings overlap are judged together, as long as they are no more samples than this. */
const MOST_TOGETHER = 1 << 15;

type Group = Stretch & {starts: Set<number>};

/**
 * Passes of a log that stays in its file: found by its time and speed, and judged by the samples around each, with all
 * channels, from one more walk through the file. They are those of `passesOfLog` for the whole log, to the last bit.
 *
 * @param use what else is made of each part of the log with the passes in it
 * @throws {InputError} as `passesOfLog`
 */
export function passesInFile<T>(
  {log, samples, times, valuesOf, parts}: OpenLog,
  band: Band,
  maxGapS: number | undefined,
  use: (part: Log, passes: Pass[]) => T[],
): {passes: Pass[]; about: T[]} {
  const channel = requireChannel(log, "speed");
  const speed = valuesOf(channel)!;
  const stepS = medianOfPieces(stepsOf(channel.valid === samples ? times : timesWith(times, speed)));
  if (stepS === null) return {passes: [], about: []};
  const gapS = maxGapS ?? gapOfMedianStepS(stepS);
  const groups = groupsOf(foundPasses(times, speed, band, gapS), times, speed, gapS);
  const passes: Pass[] = [];
  const about: T[] = [];
  parts!(groups, (part, {starts}) => {
    const found = passesOfLog(part, band, {maxGapS: gapS, whole: {samples, stepS}});
    const own = found.filter(({startS}) => starts.has(startS));
    passes.push(...own);
    about.push(...use(part, own));
  });
  return {passes, about};
}

/** Times of the samples that have a speed; NaN at the others. */
function timesWith(times: Values, speed: Values): Values {
  let filled = new Float64Array(0);
  return {
    length: times.length,
    pieces: times.pieces,
    piece(k) {
      const time = times.piece(k);
      const values = speed.piece(k);
      if (filled.length !== time.length) filled = new Float64Array(time.length);
      for (let i = 0; i < time.length; i++) filled[i] = values[i] - values[i] === 0 ? time[i] : Number.NaN;
      return filled;
    },
  };
}

/** Passes, their samples counted among those with a speed. */
function foundPasses(times: Values, speed: Values, band: Band, maxGapS: number): LevelPass[] {
  const finder = levelPassFinder(band.fromMps, band.toMps, {maxGapS});
  const found: LevelPass[] = [];
  forEachPair(times, speed, (time, values) => {
    for (let i = 0; i < time.length; i++) {
      const pass = values[i] - values[i] === 0 ? finder(time[i], values[i]) : null;
      if (pass) found.push(pass);
    }
  });
  return found;
}

/** The samples of the log around passes, those with overlapping surroundings together. */
function groupsOf(found: readonly LevelPass[], times: Values, speed: Values, maxGapS: number): Group[] {
  const stretches = found.map(({startS}) => ({first: 0, end: times.length, starts: new Set([startS])}));
  const marginS = MARGIN_S + maxGapS;
  let [begun, ended] = [0, 0];
  let count = 0; // samples with a speed
  forEachPair(times, speed, (time, values, first) => {
    for (let i = 0; i < time.length; i++) {
      for (
        ;
        begun < found.length && isNear(found[begun].startIndex - count, found[begun].startS - time[i]);
        begun++
      )
        stretches[begun].first = first + i;
      for (; ended < begun && !isNear(count - found[ended].endIndex, time[i] - found[ended].endS); ended++)
        stretches[ended].end = first + i;
      if (values[i] - values[i] === 0) count++;
    }
  });
  const groups: Group[] = [];
  for (const {first, end, starts} of stretches) {
    const last = groups[groups.length - 1];
    if (last && first <= last.end && end - last.first <= MOST_TOGETHER) {
      last.end = end;
      for (const startS of starts) last.starts.add(startS);
    } else groups.push({first, end, starts});
  }
  return groups;

  function isNear(samples: number, stepS: number): boolean {
    return samples <= MARGIN_SAMPLES || stepS <= marginS;
  }
}
