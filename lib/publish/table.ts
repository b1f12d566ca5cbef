import type {MimeBundle} from "../notebook/notebook.ts";
import type {TableSpec} from "../result/figure.ts";
import {escapeHtml} from "./html.ts";
import type {Numbered} from "./references.ts";

export const TABLE_MIME = "application/vnd.fairpull.table+json";

/** The table specification of an output, every text in it a text; null if it has none. */
export function tableSpec(bundle: MimeBundle): TableSpec | null {
  const spec = bundle[TABLE_MIME] as TableSpec | undefined;
  if (!spec || !Array.isArray(spec.columns) || !Array.isArray(spec.rows)) return null;
  return {
    id: String(spec.id),
    caption: String(spec.caption ?? ""),
    columns: spec.columns.map(column => ({
      title: String(column?.title ?? ""),
      ...(typeof column?.unit === "string" && {unit: column.unit}),
      align: column?.align === "right" ? "right" : "left",
    })),
    rows: spec.rows
      .filter(row => Array.isArray(row))
      .map(row =>
        row.map(value =>
          value === null || typeof value === "number" || typeof value === "string"
            ? value
            : JSON.stringify(value),
        ),
      ),
  };
}

/** Rows of a table that paper never parts: half a page. */
const SHORT_ROWS = 16;

/** A table whose cells hold sentences: on a telephone its rows are stacked, each cell with its title. */
function isWordy({columns, rows}: TableSpec): boolean {
  const long = (value: string | number | null) =>
    typeof value === "string" && value.length > SENTENCE_CHARACTERS;
  return columns.length > 3 && rows.some(row => row.some(long));
}

const SENTENCE_CHARACTERS = 60;

/** A table of the page, with its number; it scrolls by itself where the page is narrower. */
export function tableHtml(spec: TableSpec, {number, anchor}: Numbered): string {
  const {caption, columns, rows} = spec;
  const align = (index: number) => (columns[index]?.align === "right" ? ' class="number"' : "");
  const head = columns.map(({title, unit}, index) => {
    const text =
      unit === undefined
        ? escapeHtml(title)
        : `${escapeHtml(title)} <span class="unit">${escapeHtml(unit)}</span>`;
    return `<th scope="col"${align(index)}>${text}</th>`;
  });
  const wordy = isWordy(spec);
  const cell = (value: string | number | null, index: number) => {
    const label = wordy ? ` data-label="${escapeHtml(columns[index]?.title ?? "")}"` : "";
    const empty = wordy && value === null ? ' class="empty"' : align(index);
    return `<td${empty}${label}>${cellHtml(value === null ? "–" : printed(value))}</td>`;
  };
  const body = rows.map(row => `<tr>${row.map(cell).join("")}</tr>`);
  return (
    `<div class="scroll${rows.length <= SHORT_ROWS ? " short" : ""}" id="${anchor}" role="group" aria-label="Table ${number}" tabindex="0"><table${wordy ? ' class="wordy"' : ""}>` +
    `<caption><b>Table ${number}.</b> ${escapeHtml(caption)}</caption>` +
    `<thead><tr>${head.join("")}</tr></thead><tbody>${body.join("")}</tbody></table></div>`
  );
}

/** A word with a hyphen, such as a file name, stays on one line. */
function cellHtml(text: string): string {
  const html = escapeHtml(text);
  return /-/.test(text) && !/\s/.test(text) ? `<span class="word">${html}</span>` : html;
}

function printed(value: string | number): string {
  return String(value).replace(/^-(?=\d)/, "−");
}
