import type {TableSpec} from "../result/figure.ts";
import {DISPLAY, type Displayed, escapeHtml, INSPECT} from "./display.ts";
import {requireId} from "./figure.ts";

/** A table that also shows itself. */
export interface Table extends TableSpec, Displayed {}

/** MIME type under which a table carries its own specification, for pages that number and style it. */
const TABLE_MIME = "application/vnd.fairpull.table+json";

/**
 * Makes a table that notebooks show: its specification, HTML with caption and units in the headers, and text in columns.
 * An absent value (null) shows as a dash. Numbers are printed as they are: round before.
 *
 * @throws {RangeError} the id is malformed, there is no column, a row has another length than the columns, a number is not finite
 */
export function table(spec: TableSpec): Table {
  requireId("table", spec.id);
  if (spec.columns.length === 0) throw new RangeError(`table: table "${spec.id}" has no columns`);
  for (const [index, row] of spec.rows.entries()) {
    if (row.length !== spec.columns.length) {
      throw new RangeError(
        `table: row ${index + 1} of table "${spec.id}" has ${row.length} cells, but there are ${spec.columns.length} columns`,
      );
    }
    const bad = row.findIndex(value => typeof value === "number" && !Number.isFinite(value));
    if (bad >= 0)
      throw new RangeError(`table: row ${index + 1}, column ${bad + 1} of table "${spec.id}" is ${row[bad]}`);
  }
  const text = tableText(spec);
  return {
    ...spec,
    [DISPLAY]: () => ({[TABLE_MIME]: spec, "text/html": tableHtml(spec), "text/plain": text}),
    [INSPECT]: () => text,
  };
}

/** The table as HTML: `<table>` with caption, header cells with scope, units in brackets. */
export function tableHtml({id, caption, columns, rows}: TableSpec): string {
  const head = columns.map(
    (column, i) => `<th scope="col"${alignment(columns, i)}>${escapeHtml(header(column))}</th>`,
  );
  const body = rows.map(
    row =>
      `<tr>${row.map((value, i) => `<td${alignment(columns, i)}>${escapeHtml(shown(value))}</td>`).join("")}</tr>`,
  );
  return (
    `<table id="table-${id}"><caption>${escapeHtml(caption)}</caption>` +
    `<thead><tr>${head.join("")}</tr></thead><tbody>${body.join("")}</tbody></table>`
  );
}

function tableText({caption, columns, rows}: TableSpec): string {
  const cells = [columns.map(header), ...rows.map(row => row.map(shown))];
  const widths = columns.map((_column, i) => Math.max(...cells.map(row => row[i]!.length)));
  const lines = cells.map(row =>
    row
      .map((cell, i) => (isRight(columns, i) ? cell.padStart(widths[i]!) : cell.padEnd(widths[i]!)))
      .join("  ")
      .trimEnd(),
  );
  return [caption, ...lines].join("\n");
}

function header({title, unit}: TableSpec["columns"][number]): string {
  return unit === undefined ? title : `${title} [${unit}]`;
}

function shown(value: string | number | null): string {
  return value === null ? "–" : String(value);
}

function isRight(columns: TableSpec["columns"], index: number): boolean {
  return columns[index]!.align === "right";
}

function alignment(columns: TableSpec["columns"], index: number): string {
  return isRight(columns, index) ? ' style="text-align: right"' : "";
}
