import type {ChannelDocument} from "../result/channel-document.ts";
import type {CoastdownDocument} from "../result/coastdown-document.ts";
import type {ResultDocument} from "../result/result-document.ts";
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
export function runsCsv(result: ResultDocument): string {
  if (result.test === "coastdown") return coastRunsCsv(result);
  if (result.test === "channels") return channelRunsCsv(result);
  const {runs, unit, primary} = result;
  const compared = result.test === "comparison";
  return csvText(
    [
      "run",
      "file",
      ...(compared ? ["arm"] : []),
      `${primary} [${unit}]`,
      `standard uncertainty [${unit}]`,
      "used",
      ...(compared ? ["fitting"] : []),
      "flags",
    ],
    runs.map(run => [
      run.run,
      run.file,
      ...("arm" in run ? [run.arm] : []),
      run.value,
      run.value_u,
      run.used ? "yes" : "no",
      ...("fitting" in run ? [run.fitting] : []),
      run.flags.join(" "),
    ]),
  );
}

function channelRunsCsv({runs, primary, unit}: ChannelDocument): string {
  return csvText(
    ["run", "file", "engine log", "arm", `${primary} [${unit ?? ""}]`, "used"],
    runs.map(run => [run.run, run.file, run.engine, run.arm, run.value, run.used ? "yes" : "no"]),
  );
}

function coastRunsCsv({runs}: CoastdownDocument): string {
  return csvText(
    ["run", "file", "direction", "used", "F0 [N]", "F1 [N/(m/s)]", "F2 [N/(m/s)^2]", "left [m/s]", "problem"],
    runs.map(run => [
      run.run,
      run.file,
      run.direction,
      run.used ? "yes" : "no",
      run.f0_n,
      run.f1_n_per_mps,
      run.f2_n_per_mps2,
      run.residual_mps,
      run.problem,
    ]),
  );
}
