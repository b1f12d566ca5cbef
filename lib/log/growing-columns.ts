import {LEAST_CODE} from "./missing-codes.ts";
import type {TakeRows} from "./rows.ts";

/** Slack on the number of rows estimated from the first ones; more grows by half. The system backs only what is used. */
const ROW_SLACK = 1.1;

/** Columns that take in rows as they come. */
export interface GrowingColumns {
  take: TakeRows;
  /** one a field, of the rows taken in */
  values(): Float64Array[];
  /** one a field: how many values are finite, where none can be a code for "no value"; null where one may be */
  plain(): (number | null)[];
}

export function growingColumns(fields: number, estimatedRows: number): GrowingColumns {
  let capacity = Math.ceil(estimatedRows * ROW_SLACK) + 16;
  const columns = Array.from({length: fields}, () => new Float64Array(capacity));
  const counts = new Float64Array(fields); // NaN where a value may be a code
  let rows = 0;
  return {
    take(block, from, end) {
      if (rows + end - from > capacity) {
        capacity = Math.max(Math.ceil(capacity * 1.5), rows + end - from);
        for (const [k, column] of columns.entries()) {
          columns[k] = new Float64Array(capacity);
          columns[k].set(column.subarray(0, rows));
        }
      }
      for (let k = 0; k < columns.length; k++) {
        const values = block[k].subarray(from, end);
        columns[k].set(values, rows);
        counts[k] += countPlain(values); // while they are in the cache
      }
      rows += end - from;
    },
    values: () => columns.map(column => column.subarray(0, rows)),
    plain: () => Array.from(counts, count => (Number.isNaN(count) ? null : count)),
  };
}

/** How many values are finite, or NaN where one may be a code for "no value". */
function countPlain(values: Float64Array): number {
  let plain = 0;
  let none = 0;
  for (let i = 0; i < values.length; i++) {
    if (Math.abs(values[i]) < LEAST_CODE) plain++;
    else if (Number.isNaN(values[i])) none++;
  }
  return plain + none === values.length ? plain : Number.NaN;
}
