import type {MimeBundle} from "../notebook/notebook.ts";

/** What is used of a data frame or a series of danfojs. */
interface Frame {
  columns: string[];
  index: (string | number)[];
  values: unknown[];
  shape: [rows: number, columns: number];
  $isSeries: boolean;
}

/** Rows shown at the start and at the end of a long frame. */
const EDGE_ROWS = 20;

/** As many as a reader compares; the frame keeps them all. */
const SIGNIFICANT_DIGITS = 6;

/** True for data frames and series of danfojs-node, of whichever installation. */
export function isFrame(value: unknown): value is Frame {
  const frame = value as Partial<Frame> | null | undefined;
  return (
    typeof frame === "object" &&
    frame !== null &&
    typeof frame.$isSeries === "boolean" &&
    Array.isArray(frame.columns) &&
    Array.isArray(frame.index) &&
    Array.isArray(frame.values)
  );
}

/**
 * A data frame as an HTML table and as text in columns: names of columns and rows, numbers with six significant digits,
 * an absent value as a dash. Of more than 40 rows the first and last 20 are shown, with the number of the others.
 */
export function frameBundle(frame: Frame): MimeBundle {
  const {columns, index, values, $isSeries} = frame;
  const rows = values.map(row => ($isSeries ? [row] : (row as unknown[])));
  const isNumeric = columns.map((_name, column) => rows.some(row => typeof row[column] === "number"));
  const left = Math.max(0, rows.length - 2 * EDGE_ROWS);
  const isShown = (row: number) => left === 0 || row < EDGE_ROWS || row >= rows.length - EDGE_ROWS;
  const shown = rows
    .map((row, i) => ({name: String(index[i] ?? i), cells: columns.map((_name, k) => cellText(row[k]))}))
    .filter((_row, i) => isShown(i));
  const size = `${rows.length} ${rows.length === 1 ? "row" : "rows"}, ${columns.length} ${columns.length === 1 ? "column" : "columns"}`;
  const note = left === 0 ? size : `${size}; ${left} rows in the middle are not shown`;

  const align = (column: number) => (isNumeric[column] ? ' style="text-align: right"' : "");
  const head = columns.map((name, k) => `<th scope="col"${align(k)}>${escapeHtml(name)}</th>`).join("");
  const body = shown.map(({name, cells}, i) => {
    const gap =
      left > 0 && i === EDGE_ROWS ? `<tr><td colspan="${columns.length + 1}">… ${left} more …</td></tr>` : "";
    const data = cells.map((text, k) => `<td${align(k)}>${escapeHtml(text)}</td>`).join("");
    return `${gap}<tr><th scope="row">${escapeHtml(name)}</th>${data}</tr>`;
  });
  const html = `<table><caption>${note}</caption><thead><tr><td></td>${head}</tr></thead><tbody>${body.join("")}</tbody></table>`;

  const grid = [["", ...columns], ...shown.map(({name, cells}) => [name, ...cells])];
  const widths = grid[0]!.map((_cell, k) => Math.max(...grid.map(row => row[k]!.length)));
  const lines = grid.map(row =>
    row
      .map((text, k) => (k > 0 && isNumeric[k - 1] ? text.padStart(widths[k]!) : text.padEnd(widths[k]!)))
      .join("  ")
      .trimEnd(),
  );
  if (left > 0) lines.splice(1 + EDGE_ROWS, 0, `… ${left} more …`);
  return {"text/html": html, "text/plain": [...lines, `[${note}]`].join("\n")};
}

function cellText(value: unknown): string {
  if (value === null || value === undefined || Number.isNaN(value)) return "–";
  return typeof value === "number" ? String(Number(value.toPrecision(SIGNIFICANT_DIGITS))) : String(value);
}

/** Text made safe for HTML, in content and in quoted attributes. */
export function escapeHtml(text: string): string {
  return text
    .replaceAll("&", "&amp;")
    .replaceAll("<", "&lt;")
    .replaceAll(">", "&gt;")
    .replaceAll('"', "&quot;");
}
