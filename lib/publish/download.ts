import type {JudgeDocument} from "../result/documents.ts";
import {base64, escapeHtml} from "./html.ts";

/** A link that hands out a file which the page carries; works without script. */
export function downloadLink(name: string, type: string, text: string): string {
  return `<a download="${escapeHtml(name)}" href="data:${type};base64,${base64(text)}">${escapeHtml(name)}</a>`;
}

/**
 * A table as comma-separated text (RFC 4180). A cell that a spreadsheet would take for a formula (it starts with = + - @, a
 * tab or a line break) gets an apostrophe in front; numbers stay numbers.
 */
export function csvText(
  columns: readonly string[],
  rows: readonly (string | number | boolean | null)[][],
): string {
  return [columns, ...rows].map(row => `${row.map(csvCell).join(",")}\r\n`).join("");
}

function csvCell(value: string | number | boolean | null): string {
  if (value === null) return "";
  if (typeof value !== "string") return String(value);
  const isNumber = /^[-+]?(\d+\.?\d*|\.\d+)(e[-+]?\d+)?$/i.test(value);
  const safe = !isNumber && /^[=+\-@\t\r\n\uFF1D\uFF0B\uFF0D\uFF20]/.test(value) ? `'${value}` : value;
  return /[",\r\n']/.test(safe) || safe !== safe.trim() ? `"${safe.replaceAll('"', '""')}"` : safe;
}

/** The runs of a result as a table for other programs: the data summary that a page hands out. */
export function runsCsv({runs, unit, primary}: JudgeDocument): string {
  return csvText(
    [
      "run",
      "file",
      "arm",
      `${primary} [${unit}]`,
      `standard uncertainty [${unit}]`,
      "used",
      "fitting",
      "flags",
    ],
    runs.map(run => [
      run.run,
      run.file,
      run.arm,
      run.value,
      run.value_u,
      run.used ? "yes" : "no",
      run.fitting,
      run.flags.join(" "),
    ]),
  );
}
