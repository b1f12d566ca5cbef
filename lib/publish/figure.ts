import type {Painter} from "../draw/picture.ts";
import type {MimeBundle} from "../notebook/notebook.ts";
import {InputError} from "../result/error.ts";
import {figureData, figureDataHtml} from "./figure-data.ts";
import {base64, escapeHtml, jsonForScript} from "./html.ts";
import type {Numbered} from "./references.ts";

export const PLOTLY_MIME = "application/vnd.plotly.v1+json";

/** A Plotly figure taken from an output. */
export interface PlotlyFigure {
  data: unknown[];
  layout: Record<string, unknown>;
  /** null where the figure does not say */
  id: string | null;
  caption: string | null;
  alt: string;
}

/** A figure's pictures: one for wide pages and paper, one for telephones. */
export interface Pictures {
  wide: string;
  narrow: string;
}

const WIDTH_PX = 720;
const HEIGHT_PX = 420;
const NARROW_WIDTH_PX = 400;
/** Up to this width of the page the narrow picture is shown. */
export const NARROW_BELOW_PX = 600;

/** The Plotly figure of an output, or null if it has none. */
export function plotlyFigure(bundle: MimeBundle): PlotlyFigure | null {
  const spec = bundle[PLOTLY_MIME] as {data?: unknown; layout?: Record<string, unknown>} | undefined;
  if (!spec || !Array.isArray(spec.data)) return null;
  const layout = spec.layout ?? {};
  const meta = (layout["meta"] as {fairpull?: Record<string, unknown>} | undefined)?.fairpull ?? {};
  const title = (layout["title"] as {text?: unknown} | undefined)?.text;
  const text = (value: unknown) => (typeof value === "string" && value !== "" ? value : null);
  return {
    data: spec.data,
    layout,
    id: text(meta["id"]),
    caption: text(meta["caption"]),
    alt: text(meta["alt"]) ?? text(meta["caption"]) ?? text(title) ?? "Figure",
  };
}

/** Draws both pictures of a figure. */
export async function drawPictures(painter: Painter, {data, layout}: PlotlyFigure): Promise<Pictures> {
  const size = (key: string, usual: number) =>
    typeof layout[key] === "number" ? (layout[key] as number) : usual;
  const heightPx = size("height", HEIGHT_PX);
  const [wide, narrow] = await Promise.all([
    painter.svg({data, layout, widthPx: size("width", WIDTH_PX), heightPx}),
    painter.svg({data, layout, widthPx: NARROW_WIDTH_PX, heightPx}),
  ]);
  return {wide, narrow};
}

/**
 * A figure of the page: its picture, which a script makes interactive, its caption with number, and its numbers on demand.
 * The picture is an image of its own, so that nothing in it can clash with the page.
 */
export function figureHtml(figure: PlotlyFigure, pictures: Pictures, {number, anchor}: Numbered): string {
  const address = (svg: string) => `data:image/svg+xml;base64,${base64(svg)}`;
  const caption = figure.caption === null ? "" : ` ${escapeHtml(figure.caption)}`;
  const {width: _width, meta: _meta, ...layout} = figure.layout;
  return (
    `<figure class="plot" id="${anchor}"><div class="plate"><picture>` +
    `<source media="(max-width: ${NARROW_BELOW_PX}px)" srcset="${address(pictures.narrow)}">` +
    `<img alt="${escapeHtml(figure.alt)}" src="${address(pictures.wide)}"></picture>` +
    `<div class="live" role="group" aria-label="Figure ${number}, interactive; arrow keys go from point to point" hidden></div></div>` +
    `<script type="application/json">${jsonForScript({data: figure.data, layout})}</script>` +
    `<figcaption><b>Figure ${number}.</b>${caption}</figcaption>` +
    `${figureDataHtml(figureData(figure), number)}</figure>`
  );
}

/** A figure that cannot be drawn, with Plotly's reason. */
export function undrawable(file: string, cell: number, error: unknown): InputError {
  return new InputError(1, {
    code: "figure-undrawable",
    file,
    words: `the figure of cell ${cell} cannot be drawn: ${error instanceof Error ? error.message : error}`,
    hint: "mend its data or layout",
  });
}
