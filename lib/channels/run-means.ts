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
  "speed",
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

/** Number channels that every one of these runs has, in the order of the first log, and what was left out of them. */
export function commonChannels(runs: readonly LoadedRun[]): {
  names: string[];
  leftOut: {name: string; reason: string}[];
} {
  const units = runs.map(({log}) => {
    const usable = log.channels.filter(
      ({name, kind, valid}) => kind === "number" && valid > 0 && !NOT_SURVEYED.has(name),
    );
    return new Map(usable.map(({name, valueUnit}) => [name, valueUnit]));
  });
  const names: string[] = [];
  const leftOut: {name: string; reason: string}[] = [];
  for (const name of new Set(units.flatMap(channels => [...channels.keys()]))) {
    const reason =
      absence(name, runs, units) ??
      unlikeUnits(units.map(channels => channels.get(name)!)) ??
      (isClear(runs, name)
        ? null
        : "several columns are equally likely to be it; settle it with columns in the session");
    if (reason === null) names.push(name);
    else leftOut.push({name, reason});
  }
  return {names, leftOut};
}

/** Which runs lack a channel, in words, or null. */
function absence(
  name: string,
  runs: readonly LoadedRun[],
  units: readonly Map<string, unknown>[],
): string | null {
  const without = runs.filter((_, i) => !units[i].has(name));
  if (without.length === 0) return null;
  const armsWith = new Set(runs.flatMap(({run}, i) => (units[i].has(name) ? [run.arm] : [])));
  const armsWithout = new Set(without.map(({run}) => run.arm));
  const isOneArm = armsWith.size === 1 && !armsWithout.has([...armsWith][0]);
  if (isOneArm) return `logged in the ${[...armsWith][0]} runs only`;
  return `not logged in run ${without.map(({run}) => run.run).join(", ")}`;
}

/** Units that differ from run to run, in words, or null. */
function unlikeUnits(units: readonly (string | null)[]): string | null {
  const counts = new Map<string | null, number>();
  for (const unit of units) counts.set(unit, (counts.get(unit) ?? 0) + 1);
  if (counts.size < 2) return null;
  return `its unit differs: ${[...counts].map(([unit, count]) => `${unit ?? "none"} in ${count} runs`).join(", ")}`;
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
