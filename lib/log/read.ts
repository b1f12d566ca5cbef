import {resolve} from "node:path";
import {InputError} from "../result/error.ts";
import type {Channel, Guess, Log} from "../result/log.ts";
import {toChannels} from "./channels.ts";
import {declaredColumns} from "./declared.ts";
import {withDerivedSpeed} from "./derived-speed.ts";
import {focused, partOfLog, type Span} from "./focus.ts";
import {heldColumns, LARGE_TABLE_BYTES} from "./held-columns.ts";
import {withDecodedPids} from "./obd/raw-pids.ts";
import {type LogReader, PROBE_BYTES, type ReadOptions} from "./reader.ts";
import {READERS} from "./readers.ts";
import {recordInput} from "./record-input.ts";
import {type ByteSource, hashedSource, memorySource, withFile} from "./source.ts";
import {binaryKind} from "./text.ts";
import {timeBase} from "./time-base.ts";

/** What the user says of a log that the log does not say itself. */
export interface ReadLogOptions extends Pick<ReadOptions, "group"> {
  /**
   * columns declared by quantity: `{speed: "Velocity [km/h]", time: "T:ms", height: "3"}`; name or number, and behind a
   * colon the unit where the file does not say it. They win over every guess.
   */
  columns?: Record<string, string>;
  /** rate of the samples [Hz] for a log without time */
  rateHz?: number;
  /** name of the log in messages and results; default the path */
  name?: string;
  /**
   * what a log is read for: of a table that takes more than `aboveBytes` (default 128 MiB), only channels of these quantities
   * are held in memory. The others have a `range` and no values, or, `others: "left out"`, are not among the channels; what
   * of them was not read is counted all the same. `near` is asked for stretches of time
   * in such a log, and gets each with all its channels.
   */
  only?: {
    quantities: readonly string[];
    others: "ranges" | "left out";
    aboveBytes?: number;
    near?(log: Log): {spans: Span[]; use(part: Log, span: Span): void};
  };
}

/**
 * Reads a log: finds the format, the columns, their quantities and units and the time base, and reports what was not read.
 *
 * Rows whose time is not later than the latest seen are dropped and counted in `unread.rows`; unreadable cells are NaN
 * in `values` and counted there too. What the file left open is in `guesses`.
 *
 * @param file path of the log
 * @returns strictly increasing time [s] and channels of the same length, in SI where their unit is known
 * @throws {InputError} exit code 2: the path, a declared column or unit, the rate; 1: nothing readable in the file, no time,
 *   two equally likely time columns
 */
export function readLog(file: string, options: ReadLogOptions = {}): Log {
  const log = withFile(file, source => readSource({...source, file: options.name ?? file}, options));
  recordInput(resolve(file), log.sha256);
  return log;
}

/**
 * As `readLog`, for one of many logs: `rateHz` is taken for a log without time only. A log that has a time keeps it.
 *
 * @throws {InputError} as `readLog`
 */
export function readTimedLog(file: string, options: ReadLogOptions = {}): Log {
  const {rateHz, ...others} = options;
  try {
    return readLog(file, others);
  } catch (error) {
    const untimed = error instanceof InputError && error.details.code === "no-time";
    if (!untimed || rateHz === undefined) throw error;
    return readLog(file, options);
  }
}

/** As `readLog`, for bytes in memory; `options.name` is the file named in messages. */
export function readLogBytes(bytes: Uint8Array, options: ReadLogOptions = {}): Log {
  return readSource(memorySource(options.name ?? "log", bytes), options);
}

function readSource(given: ByteSource, options: ReadLogOptions): Log {
  const {source, sha256} = hashedSource(given);
  const {file} = source;
  const {only, columns = {}} = options;
  const hold = only && {
    aboveBytes: only.aboveBytes ?? LARGE_TABLE_BYTES,
    which: heldColumns(file, only.quantities, columns),
  };
  const table = withDecodedPids(readerFor(source).read(source, {group: options.group, hold}));
  const declared = declaredColumns(file, table.columns, columns);
  const time = timeBase(table, file, declared.get("time"), options.rateHz);
  const {channels, guesses, unread} = toChannels(table, time, declared);
  const log = withDerivedSpeed({
    file,
    format: table.format,
    timeS: time.timeS,
    timeZero: time.timeZero,
    clockZeroS: time.clockZeroS,
    channels: only?.others === "left out" ? channels.filter(({range}) => range === undefined) : channels,
    unread: {
      rows: [...table.unread.rows, ...time.dropped, ...unread.rows],
      columns: [...table.unread.columns, ...unread.columns],
    },
    guesses: [
      ...table.guesses,
      ...time.guesses,
      ...guesses,
      ...(only?.others === "left out" ? leftOut(channels) : []),
    ],
    sha256: sha256(),
  });
  if (table.walk && only?.near) {
    const {spans, use} = only.near(log);
    focused(table, time, spans, (part, span) => {
      const again = declaredColumns(file, part.table.columns, columns);
      use(partOfLog(log, toChannels(part.table, part.time, again).channels, part), span);
    });
  }
  return log;
}

function leftOut(channels: readonly Channel[]): Guess[] {
  const columns = channels.filter(({range}) => range !== undefined).map(({column}) => `"${column}"`);
  if (columns.length === 0) return [];
  const chosen = `not ${columns.join(", ")}: the log is too large to hold what is not asked for`;
  return [{what: "columns", chosen, confidence: "likely"}];
}

function readerFor(source: ByteSource): LogReader {
  const {file} = source;
  const head = source.read(0, PROBE_BYTES);
  if (head.length === 0)
    throw new InputError(1, {
      code: "empty-file",
      words: "the file is empty",
      file,
      hint: "give a log with data",
    });
  const sure = READERS.map(reader => reader.probe(head, file));
  const best = sure.indexOf(Math.max(...sure));
  if (sure[best] > 0) return READERS[best];
  const {what, hint} = binaryKind(head) ?? {
    what: "data of an unknown kind",
    hint: "give the log as the logger exports it",
  };
  throw new InputError(1, {code: "not-a-log", words: `this looks like ${what}`, file, hint});
}
