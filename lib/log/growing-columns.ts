import type {TakeRows} from "./rows.ts";

/** Slack on the number of rows estimated from the first ones; more grows by half. The system backs only what is used. */
const ROW_SLACK = 1.1;

/** Columns that take in rows as they come. */
export interface GrowingColumns {
  take: TakeRows;
  /** one a field, of the rows taken in */
  values(): Float64Array[];
}

export function growingColumns(fields: number, estimatedRows: number): GrowingColumns {
  let capacity = Math.ceil(estimatedRows * ROW_SLACK) + 16;
  const columns = Array.from({length: fields}, () => new Float64Array(capacity));
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
      for (let k = 0; k < columns.length; k++) columns[k].set(block[k].subarray(from, end), rows);
      rows += end - from;
    },
    values: () => columns.map(column => column.subarray(0, rows)),
  };
}
