import {resolve} from "node:path";
import {requireChannel} from "../log/channel.ts";
import {readLog, readTimedLog} from "../log/read.ts";
import {InputError} from "../result/error.ts";
import type {Log} from "../result/log.ts";
import type {Session, SessionRun} from "../result/session.ts";
import type {RunTrace} from "../result/trace.ts";
import {clockSeconds} from "./clock.ts";
import {type Pass, passesOfLog} from "./passes.ts";

/** One run of a session with what its log holds. */
export interface LoadedRun {
  run: SessionRun;
  log: Log;
  /** samples of the log within the run's span: first index and end (exclusive) */
  first: number;
  end: number;
  /** the one pass through the band, or null with the reason in `problem` */
  pass: Pass | null;
  problem: string | null;
  /** clock time at the start of the run [s], one zero for the whole day; null unless every run has one */
  clockS: number | null;
}

/** A session with its logs loaded and its passes found. */
export interface TestDay {
  session: Session;
  runs: LoadedRun[];
  /** every file that was read, once: as named in the session, with the SHA-256 of its bytes */
  inputs: {file: string; sha256: string}[];
}

/** How the logs of a session come in. */
export interface LoadDayOptions {
  /** a log by the path written in the session; default reads it from the session's folder */
  logNamed?: (file: string) => Log;
  /** what is kept of a run and its log; with it no more than one whole log is held at a time */
  keep?: (run: LoadedRun) => LoadedRun;
}

/** Traces are cut this long before band entry and after its end, for figures. */
const TRACE_MARGIN_S = 2;

/**
 * Loads every log that a session names and finds each run's pass through the band.
 *
 * A run without a pass, or with several in its span, keeps its place and carries the reason in words.
 *
 * @throws {InputError} a log that is missing (exit code 2) or cannot be read (1), with the run's number and line
 */
export function loadDay(session: Session, options: LoadDayOptions = {}): TestDay {
  const {logNamed, keep} = options;
  const logs = new Map<string, Log>();
  const runs = session.runs.map(run => {
    return withRun(run, () => {
      const key = JSON.stringify([run.file, run.rateHz, run.group]);
      let log = logs.get(key);
      if (!log) {
        if (keep) logs.clear();
        log = logNamed ? logNamed(run.file) : readRunLog(session, run);
        logs.set(key, log);
      }
      const found = findPass(session, run, log);
      return keep ? keep(found) : found;
    });
  });
  const clocks = dayClock(runs);
  const read = new Map(runs.map(({run, log}) => [run.file, log.sha256]));
  return {
    session,
    runs: runs.map((run, i) => ({...run, clockS: clocks ? clocks[i] : null})),
    inputs: [
      {file: session.file, sha256: session.sha256},
      ...[...read].map(([file, sha256]) => ({file, sha256})),
    ],
  };
}

/** Reads the log of a run as the run, else the session says; the session's rate is for logs that tell no time. */
function readRunLog(session: Session, run: SessionRun): Log {
  const path = resolve(session.folder, run.file);
  const group = run.group ?? session.group ?? undefined;
  const options = {columns: session.columns, name: run.file, group};
  if (run.rateHz !== null) return readLog(path, {...options, rateHz: run.rateHz});
  return readTimedLog(path, {...options, rateHz: session.rateHz ?? undefined});
}

/** Speed of every run around its pass, aligned at band entry; runs without a pass are left out. */
export function runTraces(day: TestDay): RunTrace[] {
  return day.runs.flatMap(({run, log, pass, first, end}) => {
    if (!pass) return [];
    const speed = requireChannel(log, "speed");
    let from = first;
    while (from < end && log.timeS[from] < pass.startS - TRACE_MARGIN_S) from++;
    let to = from;
    while (to < end && log.timeS[to] <= pass.startS + pass.elapsedS + TRACE_MARGIN_S) to++;
    return {
      run: run.run,
      arm: run.arm,
      used: run.exclude === null,
      timeS: log.timeS.slice(from, to).map(time => time - pass.startS),
      speedMps: speed.values.slice(from, to),
    };
  });
}

/** Does something with a run's log, and has a refusal name the run. */
export function withRun<T>(run: SessionRun, work: () => T): T {
  try {
    return work();
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    // What the command line says with an option, a session says with a key.
    const hint = error.details.hint
      ?.replace(/--column ([\w-]+)="([^"]*)"/g, 'columns: {$1: "$2"} in the session')
      .replace("--rate 10Hz", "rate: 10 Hz in the session")
      .replace("--group ", "group: ");
    throw new InputError(error.exitCode, {...error.details, run: run.run, ...(hint && {hint})});
  }
}

function findPass(session: Session, run: SessionRun, log: Log): LoadedRun {
  const first = run.fromS === null ? 0 : firstIndex(log.timeS, time => time >= run.fromS!);
  const end = run.toS === null ? log.timeS.length : firstIndex(log.timeS, time => time > run.toS!);
  const base = {run, log, first, end, pass: null, clockS: null};
  const passes = passesOfLog(log, session.band, {
    maxGapS: run.maxGapS ?? session.maxGapS ?? undefined,
  }).filter(
    ({startS, elapsedS}) =>
      startS >= (run.fromS ?? startS) && startS + elapsedS <= (run.toS ?? Number.POSITIVE_INFINITY),
  );
  if (passes.length === 1) return {...base, pass: passes[0], problem: null};
  if (passes.length === 0)
    return {...base, problem: "its log never runs through the whole band within the span given"};
  const starts = passes.map(pass => `${pass.startS.toFixed(1)} s`).join(", ");
  return {
    ...base,
    problem: `its span holds ${passes.length} passes through the band (at ${starts}); give from and to`,
  };
}

/** Clock time of every run from one source: the session's `at` where each run has it, else the clocks of the logs. */
function dayClock(runs: readonly LoadedRun[]): number[] | null {
  const written = runs.map(({run}) => (run.at === null ? null : clockSeconds(run.at)));
  if (written.every(at => at !== null)) return unwrapMidnight(written);
  const logged = runs.map(({log, pass, first}) =>
    log.clockZeroS === null ? null : log.clockZeroS + (pass?.startS ?? log.timeS[first] ?? 0),
  );
  return logged.every(at => at !== null) ? logged : null;
}

/** Runs are listed in the order driven, so a step back of more than half a day is midnight. */
function unwrapMidnight(clock: readonly number[]): number[] {
  const DAY_S = 86_400;
  let days = 0;
  return clock.map((at, i) => {
    if (i > 0 && at < clock[i - 1] - DAY_S / 2) days++;
    return at + days * DAY_S;
  });
}

/** Index of the first time for which `holds`, or the length. */
function firstIndex(timeS: Float64Array, holds: (time: number) => boolean): number {
  const index = timeS.findIndex(holds);
  return index < 0 ? timeS.length : index;
}
