import {findChannel} from "../log/channel.ts";
import {InputError} from "../result/error.ts";
import type {LoadedRun} from "../run/day.ts";

/** A channel read off each run, in the order given; NaN never: a run without it has null. */
export interface RunMeans {
  channel: string;
  unit: string | null;
  values: (number | null)[];
}

/** Channels that say where and when a run was, not what the engine did. */
const NOT_SURVEYED = new Set([
  "time",
  "date",
  "latitude",
  "longitude",
  "height",
  "course",
  "distance",
  "satellites",
  "hdop",
  "fix",
  "position-accuracy",
  "speed-accuracy",
]);

/**
 * Mean of a channel over the time within the band, by the trapezoid, so that rows written more often do not count more; or, with
 * `at: "start"`, its value at band entry.
 *
 * @throws {InputError} several columns equally likely to be the channel
 */
export function runMeans(
  runs: readonly LoadedRun[],
  channel: string,
  {at = "band"}: {at?: "band" | "start"} = {},
): RunMeans {
  let unit: string | null = null;
  const values = runs.map(({log, pass, first, end}) => {
    const found = findChannel(log, channel);
    if (!found || !pass) return null;
    unit ??= found.valueUnit;
    const {timeS} = log;
    const [fromS, toS] = [pass.startS, pass.startS + pass.elapsedS];
    let area = 0;
    let covered = 0;
    let previous = -1;
    let entry: number | null = null;
    for (let i = first; i < end && timeS[i] <= toS; i++) {
      const value = found.values[i];
      if (!Number.isFinite(value)) continue;
      if (timeS[i] <= fromS || entry === null) entry = value;
      if (timeS[i] < fromS) continue;
      if (previous >= 0) {
        const step = timeS[i] - timeS[previous];
        area += (step * (value + found.values[previous])) / 2;
        covered += step;
      }
      previous = i;
    }
    if (at === "start") return entry;
    if (previous < 0) return null;
    return covered > 0 ? area / covered : found.values[previous];
  });
  return {channel, unit, values};
}

/** Number channels that every one of these runs has, by name, in the order of the first log. */
export function commonChannels(runs: readonly LoadedRun[]): string[] {
  if (runs.length === 0) return [];
  const usable = ({log}: LoadedRun) =>
    log.channels
      .filter(({name, kind, valid}) => kind === "number" && valid > 0 && !NOT_SURVEYED.has(name))
      .map(({name}) => name);
  const rest = runs.slice(1).map(run => new Set(usable(run)));
  return [...new Set(usable(runs[0]))].filter(
    name => rest.every(set => set.has(name)) && isClear(runs, name),
  );
}

/** False where a log has several columns equally likely to be the channel. */
function isClear(runs: readonly LoadedRun[], name: string): boolean {
  try {
    for (const {log} of runs) findChannel(log, name);
    return true;
  } catch (error) {
    if (error instanceof InputError) return false;
    throw error;
  }
}
