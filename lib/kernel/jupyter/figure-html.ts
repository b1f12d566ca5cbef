import type {Painter} from "../../draw/picture.ts";
import type {MimeBundle} from "../../notebook/notebook.ts";
import {escapeHtml} from "../frame.ts";

const PLOTLY_MIME = "application/vnd.plotly.v1+json";
const WIDTH_PX = 720;
const HEIGHT_PX = 420;

/** Event on the window by which a page's Plotly makes the figures live that were shown before it came. */
const READY_EVENT = "fairpull-plotly";

/**
 * Gives a Plotly figure its picture, so that every front-end shows it, trusted or not: HTML whose visible content is an
 * image, which a script replaces by the live figure where the page has Plotly or gets it later. Every other bundle, and
 * a figure that brings HTML of its own, stays as it is.
 */
export function withPicture(painter: Painter, bundle: MimeBundle): MimeBundle | Promise<MimeBundle> {
  const spec = bundle[PLOTLY_MIME] as {data?: unknown; layout?: Record<string, unknown>} | undefined;
  if (!spec || !Array.isArray(spec.data) || "text/html" in bundle) return bundle;
  const {data, layout = {}} = spec;
  const size = (key: string, usual: number) =>
    typeof layout[key] === "number" ? (layout[key] as number) : usual;
  const request = {
    data,
    layout,
    widthPx: size("width", WIDTH_PX),
    heightPx: size("height", HEIGHT_PX),
  };
  return painter.svg(request).then(
    svg => ({...bundle, "text/html": figureHtml(data, layout, pictureOf(svg, wordsOf(bundle, layout).alt))}),
    (error: Error) => {
      const words = `The figure cannot be drawn: ${error.message}.`;
      return {...bundle, "text/html": figureHtml(data, layout, `<p>${escapeHtml(words)}</p>`)};
    },
  );

  function pictureOf(svg: string, alt: string): string {
    const base64 = Buffer.from(svg).toString("base64");
    return `<img alt="${escapeHtml(alt)}" src="data:image/svg+xml;base64,${base64}">`;
  }

  function figureHtml(traces: unknown[], look: Record<string, unknown>, picture: string): string {
    const {caption} = wordsOf(bundle, look);
    const under = caption === null ? "" : `<figcaption>${escapeHtml(caption)}</figcaption>`;
    const {meta: _meta, ...shown} = look;
    const json = JSON.stringify({data: traces, layout: shown}).replaceAll("<", "\\u003c");
    return (
      `<figure><div>${picture}</div><script type="application/json">${json}</script>` +
      `<script>${UPGRADE}</script>${under}</figure>`
    );
  }
}

function wordsOf(bundle: MimeBundle, layout: Record<string, unknown>): {alt: string; caption: string | null} {
  const meta = (layout["meta"] as {fairpull?: Record<string, unknown>} | undefined)?.fairpull ?? {};
  const text = (value: unknown) => (typeof value === "string" && value !== "" ? value : null);
  const caption = text(meta["caption"]);
  return {alt: text(meta["alt"]) ?? caption ?? text(bundle["text/plain"]) ?? "Figure", caption};
}

/**
 * Runs in the page. Front-ends that add HTML to a page run its scripts from elsewhere, so that
 * `document.currentScript` is null there; figures are found by their mark instead, each one once.
 */
const UPGRADE = `(() => {
  const upgrade = () => {
    if (!window.Plotly) return;
    for (const spec of document.querySelectorAll('figure > script[type="application/json"]')) {
      const place = spec.previousElementSibling;
      if (!place || place.dataset.live) continue;
      place.dataset.live = "yes";
      const {data, layout} = JSON.parse(spec.textContent);
      const live = document.createElement("div");
      live.style = "position: absolute; visibility: hidden";
      place.append(live);
      const size = {width: layout.width ?? ${WIDTH_PX}, height: layout.height ?? ${HEIGHT_PX}};
      window.Plotly.newPlot(live, data, {...layout, ...size}, {displaylogo: false})
        .then(() => { live.style = ""; place.firstElementChild.remove(); }, () => live.remove());
    }
  };
  setTimeout(upgrade, 0);
  window.addEventListener("${READY_EVENT}", upgrade);
})()`;
