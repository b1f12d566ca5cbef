import type {Flag} from "../../result/log.ts";
import type {Band} from "../../result/session.ts";
import type {LoadedRun} from "../../run/day.ts";
import {usableChannel} from "../../run/usable-channel.ts";
import {type Check, type CheckContext, doubtful, held} from "./check.ts";
import {type RunView, rowStepS, signOfBand} from "./run-view.ts";
import {RECORDER_FLAGS} from "./source.ts";
import {speedWords} from "./words.ts";

/** A step of more than so many median steps has lost two samples in a row … */
const HOLE_STEPS = 2.5;
/** … and counts from this length on [s]: a straight line bridges less. */
const HOLE_S = 0.25;
/** A value that stands still for so long [s] while the car accelerates was not measured. */
const FROZEN_S = 0.3;
/** … if at the run's mean acceleration it should meanwhile have changed by so many times its noise and its steps. */
const FROZEN_CHANGES = 5;
/** A jump from sample to sample counts as impossible beyond so many standard deviations of its noise. */
const JUMP_SD = 6;
/** No road car on road tyres accelerates or brakes harder [m/s²]; 0.8 g. */
const HARDEST_MPS2 = 8;
/** Flags of other sensors than that of speed. */
const SENSOR_FLAGS: readonly Flag[] = ["sensor-default", "wheel-speed-mismatch"];

export const passesCheck: Check = {
  name: "every run has its pass",
  rule: "every run that is not excluded goes through the whole band once, without a hole",
  judge({day}) {
    const without = day.runs.filter(run => run.run.exclude === null && !run.pass);
    if (without.length === 0)
      return held("every run that was not excluded has exactly one pass through the band");
    return doubtful(
      without
        .map(
          run =>
            `run ${run.run.run} (${run.run.file}) is not used: ${run.problem}${holeInRun(run, day.session.band)}`,
        )
        .join("; "),
    );
  },
};

export const recordingCheck: Check = {
  name: "no hole or poor fix",
  rule: "no hole, frozen or lost value, impossible jump or poor fix within the band of any run",
  threshold: `a hole of ${HOLE_S} s and ${HOLE_STEPS} steps; a value that stands for ${FROZEN_S} s`,
  judge(context) {
    const words = context.used.flatMap(view => {
      const found = doubts(view, context);
      return found.length > 0 ? [`run ${view.run}: ${found.join(", ")}`] : [];
    });
    return words.length > 0
      ? doubtful(words.join("; "))
      : held("no hole, frozen value, jump or poor fix within the band of any run");
  },
};

function doubts(view: RunView, {day, used}: CheckContext): string[] {
  const {band} = day.session;
  const {timeS, speedMps, startS, endS, noiseMps} = view;
  const {log} = view.loaded;
  const found: string[] = [];
  const hole = longestHole(
    view.loaded,
    i => log.timeS[i] > startS,
    before => log.timeS[before] < endS,
  );
  if (hole.lengthS > Math.max(HOLE_S, HOLE_STEPS * rowStepS(view))) found.push(holeWords(hole, band));
  let [jump, jumpAt] = [0, 0];
  for (let i = 1; i < timeS.length; i++) {
    if (!(timeS[i] > startS && timeS[i - 1] < endS)) continue;
    const limit = HARDEST_MPS2 * (timeS[i] - timeS[i - 1]) + JUMP_SD * Math.SQRT2 * noiseMps;
    const excess = Math.abs(speedMps[i] - speedMps[i - 1]) - limit;
    if (excess > jump) [jump, jumpAt] = [excess, i];
  }
  if (jump > 0) {
    found.push(
      `speed jumps from ${speedWords(speedMps[jumpAt - 1], band)} to ${speedWords(speedMps[jumpAt], band)} in ${(timeS[jumpAt] - timeS[jumpAt - 1]).toFixed(2)} s`,
    );
  }
  const frozenS = longestFreeze(view);
  if (frozenS > 0) found.push(`speed frozen for ${frozenS.toFixed(2)} s`);
  const told: Flag[] = [
    ...RECORDER_FLAGS,
    ...(frozenS > 0 ? (["frozen-speed"] as const) : []),
    "implausible-acceleration", // judged above, against the noise of this log
    "gap", // judged above, by the rule printed
  ];
  // A sensor of the engine that reads its default, or wheels of another scale, in every run say nothing about the test.
  const shared = SENSOR_FLAGS.filter(flag => used.every(other => other.loaded.pass!.flags.includes(flag)));
  found.push(...view.loaded.pass!.flags.filter(flag => !told.includes(flag) && !shared.includes(flag)));
  return found;
}

/** Longest time for which the speed column stands still although the car must have changed speed [s], or 0. */
function longestFreeze(view: RunView): number {
  const {
    loaded: {log},
    first,
    end,
    startS,
    endS,
    noiseMps,
    speedMps,
  } = view;
  const speed = log.channels.find(channel => channel.name === "speed")!.values;
  if (view.stepS > 1.5 * rowStepS(view)) return 0; // the recorder holds every value: told as held-samples
  const slope = Math.abs(speedMps[speedMps.length - 1] - speedMps[0]) / (endS - startS);
  const smallest = smallestChange(speedMps);
  let longest = 0;
  for (let i = first + 1, from = first; i < end; i++) {
    if (speed[i] !== speed[from]) from = i;
    else longest = Math.max(longest, log.timeS[i] - log.timeS[from]);
  }
  return longest >= FROZEN_S && slope * longest > FROZEN_CHANGES * Math.max(noiseMps, smallest) ? longest : 0;
}

function smallestChange(values: Float64Array): number {
  let smallest = Number.POSITIVE_INFINITY;
  for (let i = 1; i < values.length; i++) {
    const change = Math.abs(values[i] - values[i - 1]);
    if (change > 1e-9 && change < smallest) smallest = change;
  }
  return Number.isFinite(smallest) ? smallest : 0;
}

interface Hole {
  lengthS: number;
  fromMps: number;
  toMps: number;
}

/** Longest step between two rows with a speed, out of those whose ends are wanted. */
function longestHole(
  {log, first, end}: LoadedRun,
  isAfter: (row: number) => boolean,
  isBefore: (row: number) => boolean,
): Hole {
  const speed = usableChannel(log, "speed")?.values;
  let hole: Hole = {lengthS: 0, fromMps: 0, toMps: 0};
  if (!speed) return hole;
  let last = -1;
  for (let i = first; i < end; i++) {
    if (!Number.isFinite(speed[i])) continue;
    const lengthS = last < 0 ? 0 : log.timeS[i] - log.timeS[last];
    if (lengthS > hole.lengthS && isAfter(i) && isBefore(last))
      hole = {lengthS, fromMps: speed[last], toMps: speed[i]};
    last = i;
  }
  return hole;
}

function holeWords({lengthS, fromMps, toMps}: Hole, band: Band): string {
  return `a hole of ${lengthS.toFixed(2)} s in the log from ${speedWords(fromMps, band)} to ${speedWords(toMps, band)}`;
}

/** What keeps a run without a pass from having one, where it is a hole at speeds of the band. */
function holeInRun(run: LoadedRun, band: Band): string {
  const speed = usableChannel(run.log, "speed")?.values;
  if (!speed) return "";
  const sign = signOfBand(band);
  const hole = longestHole(
    run,
    i => sign * speed[i] > sign * band.fromMps,
    i => sign * speed[i] < sign * band.toMps,
  );
  return hole.lengthS < HOLE_S ? "" : ` (${holeWords(hole, band)})`;
}
