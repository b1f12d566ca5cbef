import {InputError} from "../result/error.ts";
import type {Log} from "../result/log.ts";
import {toChannels} from "./channels.ts";
import {declaredColumns} from "./declared.ts";
import {withDerivedSpeed} from "./derived-speed.ts";
import {heldColumns, LARGE_TABLE_BYTES} from "./held-columns.ts";
import {type LogReader, PROBE_BYTES, type RawTable, type ReadOptions} from "./reader.ts";
import {READERS} from "./readers.ts";
import {type ByteSource, hashedSource} from "./source.ts";
import {binaryKind} from "./text.ts";
import {type RowTimes, rowTimes, type TimeBase} from "./time-base.ts";

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
   * are held in memory. The others are not among the channels; what of them was not read is counted all the same.
   */
  only?: {quantities: readonly string[]; aboveBytes?: number};
}

/** A table with the file it is in. */
export interface OpenTable {
  file: string;
  table: RawTable;
  sha256: () => string;
}

export function openTable(given: ByteSource, {only, columns = {}, group}: ReadLogOptions): OpenTable {
  const {source, sha256} = hashedSource(given);
  const {file} = source;
  const hold = only && {
    aboveBytes: only.aboveBytes ?? LARGE_TABLE_BYTES,
    which: heldColumns(file, only.quantities, columns),
  };
  return {file, table: readerFor(source).read(source, {group, hold}), sha256};
}

/** The table with the values of packed columns in memory. */
export function unpacked(table: RawTable): RawTable {
  if (!table.walk) return table;
  const columns = table.columns.map(({packed, ...column}) => ({
    ...column,
    values: packed?.toArray() ?? column.values,
  }));
  return {...table, columns};
}

export function timesOf(
  {file}: OpenTable,
  table: RawTable,
  {columns = {}, rateHz}: ReadLogOptions,
): RowTimes {
  return rowTimes(table, file, declaredColumns(file, table.columns, columns).get("time"), rateHz);
}

export function channelsOf(
  {file}: OpenTable,
  table: RawTable,
  time: TimeBase,
  {columns = {}}: ReadLogOptions,
) {
  return toChannels(table, time, declaredColumns(file, table.columns, columns));
}

export function logOf(
  {file, sha256}: OpenTable,
  table: RawTable,
  time: TimeBase,
  {channels, guesses, unread}: Pick<ReturnType<typeof toChannels>, "channels" | "guesses" | "unread">,
): Log {
  return withDerivedSpeed({
    file,
    format: table.format,
    timeS: time.timeS,
    timeZero: time.timeZero,
    clockZeroS: time.clockZeroS,
    channels,
    unread: {
      rows: [...table.unread.rows, ...time.dropped, ...unread.rows],
      columns: [...table.unread.columns, ...unread.columns],
    },
    guesses: [...table.guesses, ...time.guesses, ...guesses],
    sha256: sha256(),
  });
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
