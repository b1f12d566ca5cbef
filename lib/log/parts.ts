import type {Channel, Log} from "../result/log.ts";
import type {RawTable} from "./reader.ts";
import type {TimeBase} from "./time-base.ts";
import {inOrder, type Values} from "./values.ts";

/** A stretch of a log's samples: first and end (exclusive). */
export interface Stretch {
  first: number;
  end: number;
}

/** Rows of a table with the values of all columns. */
export interface TablePart extends Stretch {
  table: RawTable;
  time: TimeBase;
}

/**
 * Hands over stretches of a table that is in its file, one after the other in the order of their ends, from one walk through it. Only
 * those that the walk is in are held.
 *
 * @param times of the samples, which are the rows kept
 */
export function tableParts<T extends Stretch>(
  table: RawTable,
  times: Values,
  time: TimeBase,
  stretches: readonly T[],
  use: (part: TablePart, stretch: T) => void,
): void {
  const {has} = time.rows;
  const waiting = [...stretches].sort((a, b) => a.first - b.first);
  const within: {stretch: T; timeS: Float64Array; rows: Float64Array; columns: Float64Array[]}[] = [];
  const timeAt = inOrder(times);
  let row = 0;
  let sample = 0;
  table.walk?.((pieces, from, end) => {
    if (waiting.length + within.length === 0) return;
    for (let i = from; i < end; i++, row++) {
      if (has?.[row] === 0) continue;
      while (waiting.length > 0 && waiting[0].first === sample) {
        const stretch = waiting.shift()!;
        const length = stretch.end - stretch.first;
        const columns = table.columns.map(() => new Float64Array(length));
        within.push({stretch, timeS: new Float64Array(length), rows: new Float64Array(length), columns});
      }
      for (const part of within) {
        const place = sample - part.stretch.first;
        part.timeS[place] = timeAt(sample);
        part.rows[place] = row;
        for (let k = 0; k < pieces.length; k++) part.columns[k][place] = pieces[k][i];
      }
      sample++;
      for (let k = within.length - 1; k >= 0; k--)
        if (within[k].stretch.end === sample) hand(within.splice(k, 1)[0]);
    }
  });

  function hand({stretch, timeS, rows, columns: values}: (typeof within)[number]): void {
    const columns = table.columns.map((column, k) => ({...column, packed: undefined, values: values[k]}));
    const lineOf = (k: number) => table.lineOf(rows[k]);
    const {first, end} = stretch;
    const own = time.columns.map(column => columns[table.columns.indexOf(column)]);
    const set = {count: end - first, has: null};
    use(
      {
        table: {...table, columns, rows: end - first, lineOf, walk: undefined},
        time: {...time, range: undefined, timeS, rows: set, kept: null, columns: own},
        first,
        end,
      },
      stretch,
    );
  }
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
