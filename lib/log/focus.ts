import type {Channel, Log} from "../result/log.ts";
import type {RawTable} from "./reader.ts";
import type {TimeBase} from "./time-base.ts";

/** A stretch of a log's time [s], both ends included. */
export interface Span {
  fromS: number;
  toS: number;
}

/**
 * The rows of a large table that lie in some spans of its time, with the values of all columns, from one more walk through
 * the file.
 *
 * @returns the table and time of those rows, and the places of these among the samples of `time`
 */
export function focused(
  table: RawTable,
  time: TimeBase,
  spans: readonly Span[],
): {table: RawTable; time: TimeBase; samples: Uint32Array} {
  const {timeS, kept} = time;
  const ordered = [...spans].sort((a, b) => a.fromS - b.fromS);
  const chosen: number[] = [];
  let sample = 0;
  for (const {fromS, toS} of ordered) {
    while (sample < timeS.length && timeS[sample] < fromS) sample++;
    for (; sample < timeS.length && timeS[sample] <= toS; sample++) chosen.push(sample);
  }
  const samples = Uint32Array.from(chosen);
  const rows = samples.map(place => (kept ? kept[place] : place));
  const columns = table.columns.map(column => ({...column, values: new Float64Array(rows.length)}));
  let first = 0; // row of the table that the piece begins with
  let next = 0;
  table.walk?.((pieces, from, end) => {
    for (; next < rows.length && rows[next] < first + end - from; next++) {
      for (const [k, {values}] of columns.entries()) values[next] = pieces[k][rows[next] - first + from];
    }
    first += end - from;
  });
  return {
    table: {...table, columns, rows: rows.length, lineOf: row => table.lineOf(rows[row]), walk: undefined},
    time: {
      ...time,
      timeS: Float64Array.from(samples, place => timeS[place]),
      kept: null,
      columns: time.columns.map(column => columns[table.columns.indexOf(column)]),
    },
    samples,
  };
}

/** The log with those of its samples alone: channels it has as they are, the others from `near`, where they were read again. */
export function withFocus(log: Log, near: readonly Channel[], time: TimeBase, samples: Uint32Array): Log {
  const held = log.channels.filter(({range}) => range === undefined);
  const columns = new Set(held.map(({column}) => column));
  const picked = held.map(channel => {
    const values = Float64Array.from(samples, place => channel.values[place]);
    return {...channel, values, valid: values.filter(Number.isFinite).length};
  });
  return {
    ...log,
    timeS: time.timeS,
    channels: [...picked, ...near.filter(({column}) => !columns.has(column))],
  };
}
