import {requireChannel} from "../log/channel.ts";
import type {ReadLogOptions} from "../log/read.ts";
import {InputError} from "../result/error.ts";
import type {Guess, Log} from "../result/log.ts";
import type {Band} from "../result/session.ts";
import {fromSI} from "../units/unit.ts";
import {clockText, hasDate} from "./clock.ts";
import {type FoundRun, findRuns} from "./find-runs.ts";
import {byName, readFolder} from "./folder-logs.ts";
import {gearNumbers} from "./gear.ts";
import {gentlePulls} from "./gentle.ts";
import {directionOf, directionsByHeading} from "./heading.ts";
import {isEngineLog, type LogPair, pairLogs, withEngineChannels} from "./pair-logs.ts";
import {type Pass, passesOfLog} from "./passes.ts";
import {suggestBand} from "./suggest-band.ts";

/** A suggested band starts where full throttle has lasted so long [s], as the check of a fair test asks. */
const THROTTLE_LEAD_S = 0.5;

/** A run that was found, in the order driven. */
export interface GatheredRun extends FoundRun {
  log: Log;
  file: string;
  direction: "out" | "back" | null;
  /** clock time at the start of its span, as a session writes it; null where the log has none */
  at: string | null;
  /** its pass through the band, or null */
  pass: Pass | null;
  /** the span must be written down, since the log holds more than this run */
  needsSpan: boolean;
  /** place in the session, from 1, or null with the reason in `leftOut` */
  run: number | null;
  leftOut: string | null;
}

/** What a folder of logs tells without anybody's help. */
export interface Gathered {
  band: Band | null;
  /** the band is a guess */
  bandGuessed: boolean;
  order: "clock" | "name";
  runs: GatheredRun[];
  logs: Log[];
  pairs: LogPair[];
  skipped: {file: string; reason: string}[];
  /** every choice that the logs left open, and what could not be settled */
  guesses: Guess[];
}

/** How a folder of logs is read, and the band that runs are looked for in. */
export interface GatherOptions extends Omit<ReadLogOptions, "name"> {
  /** default: suggested */
  band?: Band;
  maxGapS?: number;
  /** name of the folder in messages */
  shownAs?: string;
}

/**
 * Finds the runs in a folder of logs: pulls and coastdowns, their spans, direction, gear and pass through the band, in the order
 * driven. Pulls that run through the band once belong into a session; the others are kept with the reason.
 *
 * @throws {InputError} 2: the folder cannot be read
 */
export function gatherFolder(folder: string, options: GatherOptions = {}): Gathered {
  const {band: given, maxGapS, ...read} = options;
  const {logs, skipped} = readFolder(folder, read);
  const {pairs, unclear} = pairLogs(logs);
  const guesses: Guess[] = [
    ...logs.flatMap(log =>
      log.guesses
        .filter(({confidence}) => confidence !== "sure")
        .map(guess => ({...guess, what: `${log.file}: ${guess.what}`})),
    ),
    ...unclear.map(words => ({what: "engine log", chosen: `none; ${words}`, confidence: "weak" as const})),
    ...pairs.map(pairGuess),
  ];
  const found: Found[] = [];
  for (const log of logs) {
    if (pairs.some(({engine}) => engine === log)) continue; // its runs are those of the satellite log
    const pair = pairs.find(({satellite}) => satellite === log);
    try {
      const {runs, gentle} = findRuns(pair ? withEngineChannels(pair) : log, {maxGapS});
      found.push(...[...runs, ...gentle].map(run => ({...run, log})));
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      const {words, hint} = error.details;
      skipped.push({file: log.file, reason: `${words}${hint ? `; ${hint}` : ""}`});
    }
  }
  const order = driveOrder(found);
  if (new Set(found.map(({log}) => log)).size > 1) guesses.push(orderGuess(found, order));
  const gentle = gentlePulls(found);
  const pulls = found.filter(run => run.kind === "pull" && !gentle.has(run));
  const band = given ?? bandOfPulls(pulls, guesses);
  const runs = placeRuns(found, gentle, band, maxGapS);
  nameDirections(runs, guesses);
  return {
    band: band && {...band, gear: commonGear(runs)},
    bandGuessed: given === undefined && band !== null,
    order,
    runs,
    logs,
    pairs,
    skipped: skipped.sort((a, b) => byName(a.file, b.file)),
    guesses,
  };
}

type Found = FoundRun & {log: Log};

/** Sorts runs into the order driven: by clock where every log has one of the same kind, else by name of file and time in it. */
function driveOrder(found: Found[]): "clock" | "name" {
  const clocks = found.map(({log}) => log.clockZeroS);
  const known = clocks.filter(clock => clock !== null);
  const byClock = known.length === clocks.length && new Set(known.map(hasDate)).size === 1;
  const clock = ({log, startS}: Found) => log.clockZeroS! + startS;
  found.sort(
    (a, b) => (byClock ? clock(a) - clock(b) : 0) || byName(a.log.file, b.log.file) || a.startS - b.startS,
  );
  return byClock ? "clock" : "name";
}

function orderGuess(found: readonly Found[], order: "clock" | "name"): Guess {
  if (order === "clock") {
    return found.every(({log}) => hasDate(log.clockZeroS!))
      ? {what: "order of runs", chosen: "by the clocks of the logs", confidence: "sure"}
      : {
          what: "order of runs",
          chosen: "by the clocks of the logs, which have no date",
          confidence: "likely",
        };
  }
  const chosen = "by name of file, since not every log has a clock of the same kind";
  return {what: "order of runs", chosen, confidence: "weak"};
}

function bandOfPulls(pulls: readonly Found[], guesses: Guess[]): Band | null {
  const suggestion = suggestBand(pulls.map(coverage));
  if (!suggestion) return null;
  const {band, covered} = suggestion;
  const all = covered === pulls.length;
  guesses.push({
    what: "band",
    chosen: all
      ? `${bandWords(band)}, the widest band with round ends that all ${covered} pulls run through`
      : `${bandWords(band)}, which ${covered} of ${pulls.length} pulls run through; no band is in all of them`,
    confidence: "weak",
  });
  return band;
}

/** Speeds of a pull at full throttle. */
function coverage({log, startS, endMps}: Found): {slowestMps: number; fastestMps: number} {
  const {values} = requireChannel(log, "speed");
  let slowestMps = 0;
  for (let i = 0; i < values.length && log.timeS[i] <= startS + THROTTLE_LEAD_S; i++) {
    if (log.timeS[i] >= startS && values[i] > slowestMps) slowestMps = values[i];
  }
  return {slowestMps, fastestMps: endMps};
}

/** Gives every run its pass, and a place in the session or the reason why it has none. */
function placeRuns(
  found: readonly Found[],
  gentle: ReadonlySet<FoundRun>,
  band: Band | null,
  maxGapS: number | undefined,
): GatheredRun[] {
  const passes = new Map<Log, Pass[]>();
  for (const {log} of found) if (band && !passes.has(log)) passes.set(log, passesOfLog(log, band, {maxGapS}));
  const gears = gearNumbers(found);
  const anySatellite = found.some(({log}) => !isEngineLog(log));
  let place = 0;
  return found.map((run, k): GatheredRun => {
    const {log, fromS, toS, kind} = run;
    const inLog = passes.get(log) ?? [];
    const own = inLog.filter(({startS, elapsedS}) => startS >= fromS && startS + elapsedS <= toS);
    const leftOut =
      kind === "coastdown"
        ? "a coastdown, and the session compares pulls"
        : gentle.has(run)
          ? "part throttle, as far as its acceleration tells"
          : anySatellite && isEngineLog(log)
            ? "the car's own speed alone, beside satellite logs that may be of the same drive"
            : band === null
              ? "no band is given or found that it runs through"
              : own.length === 1
                ? null
                : own.length === 0
                  ? "it does not run through the whole band"
                  : `it runs through the band ${own.length} times`;
    return {
      ...run,
      file: log.file,
      gear: gears[k],
      direction: null,
      at: log.clockZeroS === null ? null : clockText(log.clockZeroS + fromS),
      pass: own.length === 1 ? own[0] : null,
      needsSpan: inLog.length > 1 || found.some(other => other !== run && other.log === log),
      run: leftOut === null ? ++place : null,
      leftOut,
    };
  });
}

/** Names the directions, told by the runs of the session where there are any. */
function nameDirections(runs: GatheredRun[], guesses: Guess[]): void {
  const placed = runs.filter(({run}) => run !== null);
  const told = placed.length > 0 ? placed : runs;
  const {outDeg} = directionsByHeading(told.map(run => run.headingDeg));
  if (outDeg === null) return;
  runs.forEach(run => {
    run.direction = directionOf(run.headingDeg, outDeg);
  });
  const both = runs.some(({direction}) => direction === "back");
  guesses.push({
    what: "direction",
    chosen: `out = heading ${Math.round(outDeg) % 360}°, the way of the first run${both ? ", back = the other way" : ""}`,
    confidence: "likely",
  });
}

/** The gear that every run of the session is known to be in, or null. */
function commonGear(runs: readonly GatheredRun[]): number | null {
  const gears = new Set(runs.filter(({run}) => run !== null).map(({gear}) => gear));
  return gears.size === 1 ? [...gears][0] : null;
}

/** "60 to 110 km/h" */
export function bandWords({fromMps, toMps, unit}: Band): string {
  const shown = (mps: number) => Number(fromSI(mps, unit).toPrecision(6));
  return `${shown(fromMps)} to ${shown(toMps)} ${unit}`;
}

function pairGuess({satellite, engine, alignment}: LogPair): Guess {
  const {lagS, lagUS, scale, correlation, overlapS} = alignment;
  const sign = lagS < 0 ? "earlier" : "later";
  return {
    what: `${satellite.file}: engine log`,
    chosen:
      `${engine.file}, whose clock shows ${Math.abs(lagS).toFixed(3)} s ${sign} (± ${lagUS.toFixed(3)} s), satellite speed ${scale.toFixed(4)} times ` +
      `the car's own, correlation ${correlation.toFixed(4)} over ${overlapS.toFixed(0)} s`,
    confidence: "likely",
  };
}
