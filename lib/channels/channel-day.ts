import {resolve} from "node:path";
import {readTimedLog} from "../log/read.ts";
import type {ChannelSession} from "../result/channel-session.ts";
import {InputError} from "../result/error.ts";
import type {Channel, Log} from "../result/log.ts";
import {cutLog, cutRun} from "../run/cut-run.ts";
import {type LoadedRun, loadDay, type TestDay, withRun} from "../run/day.ts";
import {type GearEvidence, gearEvidence, sameRatio} from "../run/gear.ts";
import {usableChannel} from "../run/usable-channel.ts";
import {firstNotBefore, interpolateAt} from "../series/interpolate.ts";
import {median} from "../stats/quantile.ts";
import {normalisedChannels} from "./normalise.ts";
import {type Pairing, pairRuns, type SpeedCourse, speedCourse, speedLogTime} from "./pair-runs.ts";
import {refreshedRows} from "./refreshed.ts";

/** A session of channels with what its logs hold about the runs. */
export interface ChannelDay {
  session: ChannelSession;
  /** runs by their speed log, each log cut to its pass */
  day: TestDay;
  /** the same runs with the engine's channels, on the time of the speed log; `problem` says why one cannot be compared */
  runs: LoadedRun[];
  pairings: Pairing[];
  /** channels that no run is compared in, and why */
  leftOut: {name: string; reason: string}[];
}

/** Kept of a speed log about each pass [s]: what the checks of a run look at. */
const KEEP_S = 20;
/** Kept of an engine log about each pass [s]: enough for a channel that is refreshed once in a second. */
const ENGINE_MARGIN_S = 2.5;
/** Columns that a session names are those of the engine log, but for what a receiver tells. */
const RECEIVER = /^(time|speed|height|latitude|longitude|course|distance|satellites|hdop|fix|date)$/;
const OWN_SPEED = ["vehicle-speed", "speed"];

/**
 * Loads a session of channels: the pass of each run from its speed log, and the channels of its engine log about that pass. Logs
 * are read one after the other and cut to the runs; nothing outside them is kept.
 *
 * @throws {InputError} exit code 2: a log is missing; 1: a log cannot be read, or is not of the run's drive
 */
export function loadChannelDay(session: ChannelSession): ChannelDay {
  const {engine} = session.channels;
  const hasOwn = engine.some(file => file !== null);
  const courses = new Map<string, SpeedCourse | null>();
  const columnsOf = (isReceiver: boolean) =>
    Object.fromEntries(
      Object.entries(session.columns).filter(([name]) => RECEIVER.test(name) === isReceiver),
    );
  const day = loadDay(hasOwn ? {...session, columns: columnsOf(true)} : session, {
    keep(loaded) {
      const {file} = loaded.run;
      if (hasOwn && !courses.has(file)) courses.set(file, speedCourse(loaded.log, ["speed"]));
      return cutRun(loaded, KEEP_S);
    },
  });
  const inputs = [...day.inputs];
  const pairings: Pairing[] = [];
  const found = new Map<number, LoadedRun>();
  for (const file of new Set(engine)) {
    const own = day.runs.filter((_, i) => engine[i] === file);
    if (file === null) {
      for (const run of own) found.set(run.run.run, run);
      continue;
    }
    const log = withRun(own[0].run, () =>
      readTimedLog(resolve(session.folder, file), {columns: columnsOf(false), name: file}),
    );
    inputs.push({file, sha256: log.sha256});
    for (const satelliteFile of new Set(own.map(({run}) => run.file))) {
      const runs = own.filter(({run, pass}) => run.file === satelliteFile && pass !== null);
      if (runs.length === 0) continue;
      const pairing = pairRuns(runs, {
        satellite: requireCourse(courses.get(satelliteFile) ?? null, satelliteFile, runs[0]),
        engine: requireCourse(speedCourse(log, OWN_SPEED), file, runs[0]),
        engineFile: file,
      });
      pairings.push(pairing);
      for (const run of runs) found.set(run.run.run, engineRun(run, log, pairing));
    }
  }
  const {runs, leftOut} = normalisedRuns(
    day.runs.map(run => found.get(run.run.run) ?? run),
    session,
  );
  return {session, day: {...day, inputs}, runs: withGears(runs, session.band.gear), pairings, leftOut};
}

function requireCourse(course: SpeedCourse | null, file: string, {run}: LoadedRun): SpeedCourse {
  if (course) return course;
  throw new InputError(1, {
    code: "no-channel",
    file,
    run: run.run,
    words: `no speed is found in ${file}, and without it the engine log cannot be laid over the speed log`,
    hint: 'log the speed too, or name its column: columns: {vehicle-speed: "…"} in the session',
  });
}

/** The rows of the engine log about a run's pass, on the time of its speed log, with the speed of that one. */
function engineRun(run: LoadedRun, engine: Log, pairing: Pairing): LoadedRun {
  const pass = run.pass!;
  const toSpeedLog = speedLogTime(pairing);
  const all = engine.timeS.map(toSpeedLog);
  const first = firstNotBefore(all, pass.startS - ENGINE_MARGIN_S);
  const end = firstNotBefore(all, pass.startS + pass.elapsedS + ENGINE_MARGIN_S);
  const cut = cutLog(engine, first, end);
  const timeS = all.slice(first, end);
  const satellite = speedCourse(run.log, ["speed"])!;
  const speed: Channel = {
    name: "speed",
    column: `speed of ${run.run.file}`,
    unit: "m/s",
    valueUnit: "m/s",
    kind: "number",
    values: timeS.map(at => interpolateAt(satellite.timeS, satellite.speedMps, at) ?? Number.NaN),
    valid: 0,
  };
  speed.valid = speed.values.filter(Number.isFinite).length;
  const hasVehicleSpeed = cut.channels.some(({name, valid}) => name === "vehicle-speed" && valid > 0);
  const others = cut.channels.flatMap(channel => {
    if (channel.name !== "speed") return [channel];
    return hasVehicleSpeed ? [] : [{...channel, name: "vehicle-speed"}]; // the car's own, told by the wheels
  });
  return {...run, log: {...cut, timeS, channels: [speed, ...others]}, first: 0, end: timeS.length};
}

function normalisedRuns(
  runs: readonly LoadedRun[],
  {channels: {knockSign}}: ChannelSession,
): {runs: LoadedRun[]; leftOut: ChannelDay["leftOut"]} {
  const reasons = new Map<string, string>();
  const normalised = runs.map(run => {
    const {channels, leftOut} = normalisedChannels(run.log.channels, {knockSign});
    for (const {name, reason} of leftOut) reasons.set(name, reason);
    return {...run, log: {...run.log, channels}};
  });
  return {runs: normalised, leftOut: [...reasons].map(([name, reason]) => ({name, reason}))};
}

/** Fewer refreshes of engine speed within the band do not tell its gear. */
const LEAST_REFRESHES = 5;

/** Sets runs aside that were driven in another gear than the others, or changed it within the band. */
function withGears(runs: readonly LoadedRun[], gear: number | null): LoadedRun[] {
  const evidence = runs.map(gearOf);
  const known = evidence.flatMap(found => (found?.ratioRpmPerMps ? [found.ratioRpmPerMps] : []));
  const usual = known.length > 0 ? median(known) : null;
  return runs.map((run, i) => {
    const found = evidence[i];
    if (!found) return run;
    const problem = (words: string) => ({...run, problem: words});
    if (found.gear !== null && gear !== null && found.gear !== gear)
      return problem(`its log says gear ${found.gear}, and the band is one of gear ${gear}`);
    const {ratioRpmPerMps: ratio} = found;
    if (ratio === null)
      return problem(
        "engine speed over road speed is not steady within the band: a change of gear, or a clutch that slipped",
      );
    if (usual === null || sameRatio(ratio, usual)) return run;
    return problem(`another gear: ${ratio.toFixed(1)} r/min for 1 m/s, the other runs ${usual.toFixed(1)}`);
  });
}

/** Gear evidence at the rows at which engine speed was refreshed; null where it is not logged or too rarely. */
function gearOf({log, pass, run}: LoadedRun): GearEvidence | null {
  const engine = usableChannel(log, "engine-speed")?.values;
  const speed = usableChannel(log, "speed")?.values;
  if (!pass || !engine || !speed || run.exclude !== null) return null;
  const first = firstNotBefore(log.timeS, pass.startS);
  const end = firstNotBefore(log.timeS, pass.startS + pass.elapsedS);
  const rows = refreshedRows(engine, first, end);
  if (rows.length < LEAST_REFRESHES) return null;
  const at = (values: Float64Array) => Float64Array.from(rows, row => values[row]);
  const channels = log.channels.map(channel => ({...channel, values: at(channel.values)}));
  return gearEvidence({...log, channels}, at(speed), {first: 0, end: rows.length});
}
