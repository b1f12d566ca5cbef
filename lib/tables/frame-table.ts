import {type Table, table} from "../figures/table.ts";

/** What is needed of a data frame to show it; danfojs frames have it. */
export interface FrameLike {
  columns: string[];
  values: unknown;
}

/** What a table of a data frame goes by. */
export interface FrameTableOptions {
  id: string;
  caption: string;
  /** unit of a column, by its name; a column without one has none, or carries it in its name */
  units?: Readonly<Record<string, string>>;
}

/**
 * A data frame as a table with id, caption and units. Numbers are shown with six significant digits.
 *
 * @throws {RangeError} the frame's values are not rows of as many cells as it has columns
 */
export function frameTable(frame: FrameLike, {id, caption, units = {}}: FrameTableOptions): Table {
  const {columns, values} = frame;
  if (!Array.isArray(values) || values.some(row => !Array.isArray(row))) {
    throw new RangeError("frameTable: the frame holds no rows; give a data frame, not a single series");
  }
  const rows = values as unknown[][];
  const numeric = columns.map((_, i) => rows.some(row => typeof row[i] === "number"));
  return table({
    id,
    caption,
    columns: columns.map((title, i) => ({
      title,
      align: numeric[i] ? "right" : "left",
      ...(Object.hasOwn(units, title) && {unit: units[title]}),
    })),
    rows: rows.map(row => row.map(cell)),
  });
}

function cell(value: unknown): string | number | null {
  if (value === null || value === undefined) return null;
  if (typeof value !== "number") return String(value);
  return Number.isFinite(value) ? Number(value.toPrecision(6)) : null;
}
