import type {PlotlyFigure} from "./figure.ts";
import {escapeHtml} from "./html.ts";

/** The numbers behind a figure, one row a point. */
export interface FigureData {
  columns: string[];
  rows: (string | number | null)[][];
  /** points of the figure; `rows` may hold every k-th of them */
  points: number;
}

/** Rows of the table in a page: more would be a log, not a table, and each weighs some 60 bytes. */
const MAX_ROWS = 360;
const DIGITS = 6;

/** What Plotly calls its data arrays, and what else a point has. */
const ARRAYS = ["x", "y", "z", "text"] as const;

/**
 * The plotted numbers: series, place and value of every point, and half the length of its error bar where it has one. Series that
 * have more points than fit are thinned evenly, first and last kept.
 *
 * @returns null where the traces hold no points of their own (maps, tables, base64 arrays)
 */
export function figureData({data, layout}: PlotlyFigure): FigureData | null {
  const traces = data.flatMap((trace, place) => {
    const points = pointsOf(trace as Trace, place);
    return points.length ? [points] : [];
  });
  const points = traces.reduce((sum, trace) => sum + trace.length, 0);
  if (points === 0) return null;
  const all = traces.flat();
  const has = (key: keyof Point) => all.some(point => point[key] !== null);
  const error = has("errorY") ? "errorY" : "errorX";
  const shown: [keyof Point, string][] = [["series", "series"]];
  for (const [key, axis] of [
    ["x", "xaxis"],
    ["y", "yaxis"],
    ["z", ""],
  ] as const) {
    if (has(key)) shown.push([key, axisTitle(layout[axis]) ?? key]);
  }
  if (has(error)) shown.push([error, "± bar"]);
  if (has("text")) shown.push(["text", "note"]);
  const share = Math.min(1, MAX_ROWS / points);
  const rows = traces.flatMap(trace => thinned(trace, Math.max(2, Math.floor(trace.length * share))));
  return {
    columns: shown.map(([, title]) => title),
    rows: rows.map(point => shown.map(([key]) => point[key])),
    points,
  };
}

/** The table of a figure's numbers, folded; "" where it has none. */
export function figureDataHtml(data: FigureData | null, number: number): string {
  if (data === null) return "";
  const {columns, rows, points} = data;
  const isNumber = columns.map((_, i) => rows.every(row => row[i] === null || typeof row[i] === "number"));
  const cell = (value: string | number | null, i: number) =>
    `<td${isNumber[i] ? ' class="number"' : ""}>${value === null ? "–" : escapeHtml(String(value).replace(/^-(?=\d)/, "−"))}</td>`;
  const thin = rows.length < points ? ` ${rows.length} of ${points} points, evenly thinned.` : "";
  return (
    `<details class="numbers"><summary>Numbers of figure ${number}</summary>` +
    `<div class="scroll" role="group" aria-label="Numbers of figure ${number}" tabindex="0"><table>` +
    `<caption>What figure ${number} shows.${thin}</caption>` +
    `<thead><tr>${columns.map((title, i) => `<th scope="col"${isNumber[i] ? ' class="number"' : ""}>${escapeHtml(title)}</th>`).join("")}</tr></thead>` +
    `<tbody>${rows.map(row => `<tr>${row.map(cell).join("")}</tr>`).join("")}</tbody></table></div></details>`
  );
}

type Value = string | number | null;
interface Point {
  series: Value;
  x: Value;
  y: Value;
  z: Value;
  text: Value;
  errorX: Value;
  errorY: Value;
}
type Trace = Record<string, unknown> & {name?: unknown};

function pointsOf(trace: Trace, place: number): Point[] {
  const [x, y, z, text] = ARRAYS.map(key => (Array.isArray(trace[key]) ? (trace[key] as unknown[]) : null));
  const series =
    typeof trace.name === "string" && trace.name !== "" ? plain(trace.name) : `series ${place + 1}`;
  const bars = (key: string) => {
    const array = (trace[key] as {array?: unknown} | undefined)?.array;
    return Array.isArray(array) ? array : null;
  };
  const [errorX, errorY] = [bars("error_x"), bars("error_y")];
  if (z?.some(Array.isArray)) {
    // a grid: rows along y, columns along x
    return z.flatMap((row, j) =>
      (Array.isArray(row) ? row : []).map((content, i) => ({
        ...NOTHING,
        series,
        x: value(x?.[i] ?? i),
        y: value(y?.[j] ?? j),
        z: value(content),
      })),
    );
  }
  const length = Math.max(x?.length ?? 0, y?.length ?? 0);
  return Array.from({length}, (_, i) => ({
    series,
    x: value(x ? x[i] : y && !isSpread(trace) ? i : null),
    y: value(y?.[i]),
    z: null,
    text: value(text?.[i]),
    errorX: value(errorX?.[i]),
    errorY: value(errorY?.[i]),
  })).filter(point => point.x !== null || point.y !== null);
}

const NOTHING = {z: null, text: null, errorX: null, errorY: null};

/** Boxes, violins and histograms are given values alone, without a place. */
function isSpread(trace: Trace): boolean {
  return ["box", "violin", "histogram"].includes(String(trace["type"]));
}

function value(content: unknown): Value {
  if (typeof content === "number")
    return Number.isFinite(content) ? Number(content.toPrecision(DIGITS)) : null;
  return typeof content === "string" && content !== "" ? plain(content) : null;
}

/** Plotly's texts may hold its own small markup. */
function plain(text: string): string {
  return text.replace(/<br\s*\/?>/gi, " ").replace(/<\/?[a-z][^<>]*>/gi, "");
}

function axisTitle(axis: unknown): string | null {
  const title = (axis as {title?: unknown} | undefined)?.title;
  const text = typeof title === "string" ? title : (title as {text?: unknown} | undefined)?.text;
  return typeof text === "string" && text !== "" ? plain(text) : null;
}

/** `count` of the points, first and last among them. */
function thinned<T>(points: readonly T[], count: number): T[] {
  if (points.length <= count) return [...points];
  return Array.from({length: count}, (_, i) => points[Math.round((i * (points.length - 1)) / (count - 1))]!);
}
