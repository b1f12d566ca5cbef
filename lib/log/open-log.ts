import {resolve} from "node:path";
import type {Channel, Log} from "../result/log.ts";
import {declaredColumns} from "./declared.ts";
import {needsWhole} from "./held-columns.ts";
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
import {packedValues} from "./packed-values.ts";
import {partOfLog, type Stretch, tableParts} from "./parts.ts";
import type {RawTable} from "./reader.ts";
import {recordInput} from "./record-input.ts";
import {type ByteSource, withFile} from "./source.ts";
import {type RowTimes, type TimeBase, timeBase} from "./time-base.ts";
import {forEachPiece, inMemory, mapped, type Values} from "./values.ts";

/** A log of any size. One larger than memory stays in its file. */
export interface OpenLog {
  /** of one that stays in its file there are no times, and channels have ranges and no values */
  log: Log;
  samples: number;
  /** times of the samples [s] */
  times: Values;
  /** values of a channel [SI], NaN where there is none; null for one that is in the file alone */
  valuesOf(channel: Channel): Values | null;
  /** hands over stretches of it in the order of their ends, with all channels; null where the log is in memory */
  parts: (<T extends Stretch>(stretches: readonly T[], use: (part: Log, stretch: T) => void) => void) | null;
}

/**
 * As `readLog`, of a log of any size: of one whose table takes more than `only.aboveBytes`, times and channels of `only.quantities` are
 * held packed, or, where it takes all their values to tell what the columns are, as they are.
 *
 * @param use gets the log while its file is open
 * @throws {InputError} as `readLog`
 */
export function withOpenLog<T>(
  file: string,
  options: ReadLogOptions & Required<Pick<ReadLogOptions, "only">>,
  use: (log: OpenLog) => T,
): T {
  return withFile(file, source => {
    const open = openSource({...source, file: options.name ?? file}, options);
    recordInput(resolve(file), open.log.sha256);
    return use(open);
  });
}

/** As `withOpenLog`, of bytes that are at hand. */
export function openSource(source: ByteSource, options: ReadLogOptions): OpenLog {
  const opened = openTable(source, options);
  return logInFile(opened, options) ?? logInMemory(opened, withDecodedPids(unpacked(opened.table)), options);
}

function logInMemory(opened: OpenTable, table: RawTable, options: ReadLogOptions): OpenLog {
  const time = timeBase(timesOf(opened, table, options));
  const log = logOf(opened, table, time, channelsOf(opened, table, time, options));
  const times = inMemory(log.timeS);
  return {
    log,
    samples: log.timeS.length,
    times,
    valuesOf: ({range, values}) => (range === undefined ? inMemory(values) : null),
    parts: table.walk ? partsOf(opened, table, time, options, times, log) : null,
  };
}

/** The log where its samples can stay in the file, else null. */
function logInFile(opened: OpenTable, options: ReadLogOptions): OpenLog | null {
  const {table, file} = opened;
  if (!table.walk || needsWhole(table.columns, declaredColumns(file, table.columns, options.columns ?? {})))
    return null;
  const rows = timesOf(opened, table, options);
  const [low, high] = [firstTime(rows), rows.lastS - rows.fromS + 0];
  const time: TimeBase = {
    ...rows,
    timeS: new Float64Array(0),
    kept: null,
    range: {min: low, max: high, first: low},
  };
  const {siOf, ...made} = channelsOf(opened, table, time, options);
  const quantities = made.channels.flatMap(({name}) => (name === "time" ? [] : name));
  const {channels} = made;
  const anySpeed = channels.some(({name, valid}) => name === "speed" && valid > 0);
  if (!anySpeed && quantities.includes("latitude")) return null; // a speed may come from positions
  const times = samplesOf(rows.seconds, rows, () => value => value - rows.fromS + 0);
  const raw = table.columns.map((column, k) => {
    const wanted = options.only?.quantities.includes(channels[k].name) ?? false;
    return wanted && column.packed ? samplesOf(column.packed, rows, null) : null;
  });
  for (const column of table.columns) column.packed = undefined; // what is needed of them is in the samples
  const log = logOf(opened, table, time, made);
  return {
    log,
    samples: rows.rows.count,
    times,
    valuesOf(channel) {
      const k = log.channels.indexOf(channel);
      const values = raw[k] ?? null;
      return values && mapped(values, () => siOf(table.columns[k]));
    },
    parts: partsOf(opened, table, time, options, times, log),
  };
}

function firstTime({seconds, fromS, rows}: RowTimes): number {
  let at = 0;
  let first: number | null = null;
  for (let k = 0; k < seconds.pieces() && first === null; k++) {
    const piece = seconds.piece(k);
    const i = piece.findIndex((_, j) => rows.has?.[at + j] !== 0);
    if (i >= 0) first = piece[i] - fromS + 0;
    at += piece.length;
  }
  return first ?? 0;
}

/** Values of the rows kept, packed; themselves where all are kept and nothing is changed. */
function samplesOf(
  values: Values,
  {rows: {has}, fromS}: RowTimes,
  begin: (() => (value: number) => number) | null,
): Values {
  if (has === null && (begin === null || fromS === 0)) return values;
  const samples = packedValues();
  const changed = begin ? mapped(values, begin) : values;
  forEachPiece(changed, (piece, first) => {
    if (has === null) samples.add(piece, 0, piece.length);
    else for (let i = 0; i < piece.length; i++) if (has[first + i] !== 0) samples.add(piece, i, i + 1);
  });
  return samples;
}

function partsOf(
  opened: OpenTable,
  table: RawTable,
  time: TimeBase,
  options: ReadLogOptions,
  times: Values,
  log: Log,
): NonNullable<OpenLog["parts"]> {
  return (stretches, use) =>
    tableParts(table, times, time, stretches, (part, stretch) =>
      use(partOfLog(log, channelsOf(opened, part.table, part.time, options).channels, part), stretch),
    );
}
