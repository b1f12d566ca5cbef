import type {Channel, Log} from "../result/log.ts";
import {firstNotBefore} from "../series/interpolate.ts";
import type {RawTable} from "./reader.ts";
import type {TimeBase} from "./time-base.ts";

/** A stretch of a log's time [s], both ends included. */
export interface Span {
  fromS: number;
  toS: number;
}

/** Rows of a table with the values of all columns. */
export interface TablePart {
  table: RawTable;
  time: TimeBase;
  /** places of the rows among the samples of the whole: first and end (exclusive) */
  first: number;
  end: number;
}

/**
 * Hands over the parts of a large table that lie in some spans of its time, one after the other in the order of their ends, from
 * one more walk through the file. Only parts that the walk is in are held.
 */
export function focused(
  table: RawTable,
  time: TimeBase,
  spans: readonly Span[],
  use: (part: TablePart, span: Span) => void,
): void {
  const {timeS, kept} = time;
  const rowOf = (sample: number) => (kept ? kept[sample] : sample);
  const waiting = spans
    .map(span => {
      const first = firstNotBefore(timeS, span.fromS);
      let end = firstNotBefore(timeS, span.toS);
      while (end < timeS.length && timeS[end] <= span.toS) end++;
      return {span, first, end, next: first, columns: [] as Float64Array[]};
    })
    .sort((a, b) => a.end - b.end);
  let piece = 0; // row of the table that the piece begins with
  table.walk?.((pieces, from, end) => {
    const pieceEnd = piece + end - from;
    for (const part of waiting) {
      if (part.next < part.end && rowOf(part.next) < pieceEnd && part.columns.length === 0)
        part.columns = table.columns.map(() => new Float64Array(part.end - part.first));
      for (; part.next < part.end && rowOf(part.next) < pieceEnd; part.next++) {
        const place = rowOf(part.next) - piece + from;
        for (const [k, values] of part.columns.entries()) values[part.next - part.first] = pieces[k][place];
      }
    }
    piece = pieceEnd;
    while (waiting.length > 0 && waiting[0].next === waiting[0].end) {
      const {span, first, end: last, columns: values} = waiting.shift()!;
      const columns = table.columns.map((column, k) => ({...column, values: values[k] ?? column.values}));
      const lineOf = (row: number) => table.lineOf(rowOf(first + row));
      const own = time.columns.map(column => columns[table.columns.indexOf(column)]);
      use(
        {
          table: {...table, columns, rows: last - first, lineOf, walk: undefined},
          time: {...time, timeS: timeS.slice(first, last), kept: null, columns: own},
          first,
          end: last,
        },
        span,
      );
    }
  });
}

/** A log in one part: channels that it holds as they are, the others from `near`, where they were read again. */
export function partOfLog(log: Log, near: readonly Channel[], {time, first, end}: TablePart): Log {
  const held = log.channels.filter(({range}) => range === undefined);
  const columns = new Set(held.map(({column}) => column));
  const picked = held.map(channel => {
    const values = channel.values.slice(first, end);
    return {...channel, values, valid: values.filter(Number.isFinite).length};
  });
  const others = near.filter(({column}) => !columns.has(column));
  return {...log, timeS: time.timeS, channels: [...picked, ...others]};
}
