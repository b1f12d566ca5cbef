import type {FigureSpec} from "../result/figure.ts";
import {DISPLAY, type Displayed, escapeHtml, INSPECT} from "./display.ts";

/** A figure specification that also shows itself. */
export interface Figure extends FigureSpec, Displayed {}

/** A drawn picture of a figure, as an SVG text; whoever shows the figure may add it. */
export interface FigureOptions {
  svg?: string;
}

/**
 * Makes a figure that notebooks show.
 *
 * It displays as one MIME bundle: the Plotly specification (its `layout.meta.fairpull` carries id, caption and text
 * alternative, so that a page can number and refer to it), HTML with the drawn picture where there is one, and a line of
 * text. The specification is not drawn here.
 *
 * @throws {RangeError} the id is not made of lower-case letters, digits and hyphens, or caption or alt is empty
 */
export function figure(spec: FigureSpec, options: FigureOptions = {}): Figure {
  const {id, caption, alt} = spec;
  requireId("figure", id);
  if (caption.trim() === "" || alt.trim() === "") {
    throw new RangeError(`figure: figure "${id}" needs a caption and an alt text, one of them is empty`);
  }
  const layout = {...spec.layout, meta: {fairpull: {id, caption, alt}}};
  const text = `Figure: ${caption}`;
  return {
    ...spec,
    [DISPLAY]: () => ({
      "application/vnd.plotly.v1+json": {data: spec.data, layout},
      ...(options.svg !== undefined && {"text/html": figureHtml(spec, options.svg)}),
      "text/plain": text,
    }),
    [INSPECT]: () => text,
  };
}

function figureHtml({id, caption, alt}: FigureSpec, svg: string): string {
  const base64 = btoa(Array.from(new TextEncoder().encode(svg), byte => String.fromCharCode(byte)).join(""));
  return (
    `<figure id="figure-${id}"><img alt="${escapeHtml(alt)}" src="data:image/svg+xml;base64,${base64}">` +
    `<figcaption>${escapeHtml(caption)}</figcaption></figure>`
  );
}

/** Ids become anchors in a page and are referred to as {ref:id}. */
export function requireId(where: string, id: string): void {
  if (/^[a-z0-9][a-z0-9-]*$/.test(id)) return;
  throw new RangeError(`${where}: the id "${id}" must be made of lower-case letters, digits and hyphens`);
}
