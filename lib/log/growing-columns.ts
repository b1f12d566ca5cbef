import type {TakeRows} from "./rows.ts";

/** Slack on the number of rows estimated from the first ones; more grows by half. The system backs only what is used. */
const ROW_SLACK = 1.1;

/** Columns that take in rows as they come. */
export interface GrowingColumns {
  take: TakeRows;
  /** one a field, of the rows taken in; empty for a field that is not held */
  values(): Float64Array[];
}

/** @param held one a field: false where its values are not wanted */
export function growingColumns(held: boolean[], estimatedRows: number): GrowingColumns {
  let capacity = Math.ceil(estimatedRows * ROW_SLACK) + 16;
  const columns = held.map(wanted => new Float64Array(wanted ? capacity : 0));
  let rows = 0;
  return {
    take(block, from, end) {
      if (rows + end - from > capacity) {
        capacity = Math.max(Math.ceil(capacity * 1.5), rows + end - from);
        for (const [k, column] of columns.entries()) {
          if (!held[k]) continue;
          columns[k] = new Float64Array(capacity);
          columns[k].set(column.subarray(0, rows));
        }
      }
      for (let k = 0; k < columns.length; k++) {
        if (held[k]) columns[k].set(block[k].subarray(from, end), rows);
      }
      rows += end - from;
    },
    values: () => columns.map((column, k) => (held[k] ? column.subarray(0, rows) : column)),
  };
}
