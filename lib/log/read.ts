import {resolve} from "node:path";
import {InputError} from "../result/error.ts";
import type {Channel, Guess, Log} from "../result/log.ts";
import {withDecodedPids} from "./obd/raw-pids.ts";
import {
  channelsOf,
  logOf,
  type OpenTable,
  openTable,
  type ReadLogOptions,
  timesOf,
  unpacked,
} from "./open-table.ts";
import type {RawTable} from "./reader.ts";
import {recordInput} from "./record-input.ts";
import {type ByteSource, memorySource, withFile} from "./source.ts";
import {type TimeBase, timeBase} from "./time-base.ts";

export type {ReadLogOptions} from "./open-table.ts";

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

function readSource(source: ByteSource, options: ReadLogOptions): Log {
  const opened = openTable(source, options);
  const table = withDecodedPids(unpacked(opened.table));
  const time = timeBase(timesOf(opened, table, options));
  return wholeLog(opened, table, time, options);
}

function wholeLog(opened: OpenTable, table: RawTable, time: TimeBase, options: ReadLogOptions): Log {
  const made = channelsOf(opened, table, time, options);
  const channels = made.channels.filter(({range}) => range === undefined);
  const log = logOf(opened, table, time, {...made, channels});
  return {...log, guesses: [...log.guesses, ...leftOut(made.channels)]};
}

function leftOut(channels: readonly Channel[]): Guess[] {
  const columns = channels.filter(({range}) => range !== undefined).map(({column}) => `"${column}"`);
  if (columns.length === 0) return [];
  const chosen = `not ${columns.join(", ")}: the log is too large to hold what is not asked for`;
  return [{what: "columns", chosen, confidence: "likely"}];
}
