import {requireChannel} from "../log/channel.ts";
import type {Flag, Log} from "../result/log.ts";
import {smoothedSlope} from "../series/slope.ts";
import {defaultMaxGapS} from "../series/steps.ts";
import {coastStretches} from "./coast-stretches.ts";
import type {GearEvidence} from "./gear.ts";
import {gentlePulls} from "./gentle.ts";
import {type PedalOpen, pedalOf} from "./pedal.ts";
import {runEvidence} from "./run-evidence.ts";
import {piecesWithoutGaps, refreshTimeS, type SpeedTrace, speedTrace} from "./speed-trace.ts";
import {type Stretch, stretches} from "./stretches.ts";
import {usableChannel} from "./usable-channel.ts";

/** A full-throttle pull or a coastdown found in a log. */
export interface FoundRun extends GearEvidence {
  kind: "pull" | "coastdown";
  /** span in the log that holds the run and no other, with a margin before and behind [s] */
  fromS: number;
  toS: number;
  /** where the pull or coastdown itself starts and ends [s] */
  startS: number;
  endS: number;
  /** speed there [m/s] */
  startMps: number;
  endMps: number;
  /** channel that told full throttle, or "speed" where neither throttle nor pedal is logged */
  toldBy: "throttle" | "pedal" | "speed";
  /** mean acceleration by whole m/s of speed: place k holds that of k … k + 1 m/s, NaN where the run was not at that speed */
  profileMps2: Float64Array;
  /** clockwise from north, or null where it is not logged or the road bends */
  headingDeg: number | null;
  flags: Flag[];
}

/** Time over which acceleration is averaged, before and behind a sample [s]: leaves 0.06 m/s² of a receiver's 0.045 m/s at 10 Hz. */
const HALF_WINDOW_S = 0.5;
/** The same for coastdowns, whose accelerations are a tenth as large [s]. */
const COAST_HALF_WINDOW_S = 2;
/** A half window holds at least so many refreshes of the speed, so that a held value is no plateau. */
const REFRESHES = 2.5;

/** Speed rises while acceleration is above this [m/s²]: three times its noise, half of what a small car has left at 130 km/h. */
const RISING_MPS2 = 0.2;
/** Mean of a pull, at least [m/s²]: a small car in top gear on a motorway. */
const PULL_MPS2 = 0.4;
/** A pull starts where acceleration reaches this share of its largest: what comes before is part throttle. */
const ONSET_SHARE = 0.3;
/** Shortest pull [s], and its least gain of speed [m/s]: 20 km/h hold no band worth timing. */
const SHORTEST_PULL_S = 2;
const LEAST_GAIN_MPS = 20 / 3.6;

/** Lapses of the throttle shorter than this [s] are the sensor's; a change of gear takes longer. */
const LAPSE_S = 0.25;
/** Longest margin before and behind a run [s]: what led to it can be seen, and the pass through a band is inside. */
const MARGIN_S = 2;

/**
 * Full-throttle pulls and coastdowns in a log of any length.
 *
 * A pull is a stretch in which speed rises steadily, for 2 s and 20 km/h at least, with throttle or pedal near its largest value
 * where one is logged. Where none is, full throttle cannot be told from speed: pulls that reach less than half the
 * acceleration of the hardest at the same or a higher speed are left to `gentle`. A coastdown is a stretch of 15 s and 20 km/h at least in
 * which speed falls as road load lets it, by less than 1.2 m/s², without brake and throttle where they are logged.
 *
 * @returns runs in order of time; their spans lie inside the log and have at most an end in common
 * @throws {InputError} 1: the log has no speed, several columns that may be it, or none with a unit
 */
export function findRuns(log: Log, options: {maxGapS?: number} = {}): {runs: FoundRun[]; gentle: FoundRun[]} {
  const speed = requireChannel(log, "speed");
  const whole = speedTrace(log, speed);
  if (whole.timeS.length < 2) return {runs: [], gentle: []};
  const maxGapS = options.maxGapS ?? defaultMaxGapS(whole.timeS);
  const pedal = pedalOf(log);
  const brake = usableChannel(log, "brake");
  const found = piecesWithoutGaps(whole, maxGapS).flatMap(piece => {
    const halfWindowS = (atLeastS: number) => Math.max(atLeastS, REFRESHES * refreshTimeS(piece));
    const {timeS, speedMps, rows} = piece;
    const fast = smoothedSlope(timeS, speedMps, halfWindowS(HALF_WINDOW_S));
    const slow = smoothedSlope(timeS, speedMps, halfWindowS(COAST_HALF_WINDOW_S));
    const moves: Move[] = [
      ...pullStretches(piece, fast, pedal).map(stretch => ({kind: "pull" as const, slope: fast, ...stretch})),
      ...coastStretches(piece, slow, pedal, brake).map(stretch => ({
        kind: "coastdown" as const,
        slope: slow,
        ...stretch,
      })),
    ];
    return withMargins(timeS, moves).map(({kind, slope, first, end, fromS, toS}): FoundRun => {
      const [startS, endS] = [timeS[first], timeS[end - 1]];
      return {
        kind,
        fromS,
        toS,
        startS,
        endS,
        startMps: speedMps[first],
        endMps: speedMps[end - 1],
        toldBy: toldBy(pedal, timeS.subarray(first, end)),
        profileMps2: profile(speedMps, slope, {first, end}),
        ...runEvidence(log, speed, {first: rows[first], end: rows[end - 1] + 1}, {maxGapS, startS, endS}),
      };
    });
  });
  const gentle = gentlePulls(found);
  return {runs: found.filter(run => !gentle.has(run)), gentle: [...gentle]};
}

/** What moves the car in a stretch, before its span is known. */
interface Move extends Stretch {
  kind: FoundRun["kind"];
  slope: Float64Array;
}

/** Spans with margins, cut where two runs would share one. A run that begins within another starts where that ends. */
function withMargins(timeS: Float64Array, moves: Move[]): (Move & {fromS: number; toS: number})[] {
  const ordered = moves.sort((a, b) => a.first - b.first);
  for (let k = 1; k < ordered.length; k++) {
    ordered[k].first = Math.max(ordered[k].first, ordered[k - 1].end - 1);
  }
  const kept = ordered.filter(({first, end}) => end - first > 1);
  return kept.map((move, k) => {
    const [before, after] = [kept[k - 1], kept[k + 1]];
    const halfway = (last: number, first: number) => (timeS[last] + timeS[first]) / 2;
    return {
      ...move,
      fromS: Math.max(timeS[move.first] - MARGIN_S, before ? halfway(before.end - 1, move.first) : timeS[0]),
      toS: Math.min(
        timeS[move.end - 1] + MARGIN_S,
        after ? halfway(move.end - 1, after.first) : timeS[timeS.length - 1],
      ),
    };
  });
}

function pullStretches(
  {timeS, speedMps}: SpeedTrace,
  slope: Float64Array,
  pedal: PedalOpen | null,
): Stretch[] {
  const open = pedal && withoutLapses(timeS, i => pedal.isOpen(timeS[i]));
  const rising = stretches(timeS.length, i => slope[i] > RISING_MPS2 && (!open || open[i] === 1));
  return rising
    .map(({first, end}) => {
      if (pedal?.isKnown(timeS[first])) return {first, end};
      let largest = 0;
      for (let i = first; i < end; i++) largest = Math.max(largest, slope[i]);
      let onset = first;
      while (slope[onset] < ONSET_SHARE * largest) onset++;
      return {first: onset, end};
    })
    .filter(({first, end}) => {
      const lasts = timeS[end - 1] - timeS[first];
      const gain = speedMps[end - 1] - speedMps[first];
      return lasts >= SHORTEST_PULL_S && gain >= LEAST_GAIN_MPS && gain / lasts >= PULL_MPS2;
    });
}

/** What told full throttle: throttle or pedal where it is known in most of a run. */
function toldBy(pedal: PedalOpen | null, timeS: Float64Array): FoundRun["toldBy"] {
  return pedal && 2 * timeS.filter(pedal.isKnown).length > timeS.length ? pedal.name : "speed";
}

/** 1 where a state holds, its short lapses filled. */
function withoutLapses(timeS: Float64Array, holds: (i: number) => boolean): Uint8Array {
  const state = Uint8Array.from(timeS, (_, i) => (holds(i) ? 1 : 0));
  for (const {first, end} of stretches(state.length, i => state[i] === 0)) {
    if (first > 0 && end < state.length && timeS[end] - timeS[first - 1] <= LAPSE_S)
      state.fill(1, first, end);
  }
  return state;
}

/** Mean acceleration by whole m/s of speed. */
function profile(speedMps: Float64Array, slope: Float64Array, {first, end}: Stretch): Float64Array {
  let fastest = 0;
  for (let i = first; i < end; i++) fastest = Math.max(fastest, speedMps[i]);
  const sum = new Float64Array(Math.floor(fastest) + 1);
  const count = new Float64Array(sum.length);
  for (let i = first; i < end; i++) {
    const bin = Math.floor(Math.max(0, speedMps[i]));
    sum[bin] += slope[i];
    count[bin]++;
  }
  return sum.map((total, k) => total / count[k]);
}
