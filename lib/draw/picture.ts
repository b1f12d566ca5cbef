import {styleToAttributes} from "./attributes.ts";
import {openPlotlyWindow, type PlotlyWindow} from "./window.ts";

/** What is drawn: Plotly traces and layout, and the size of the picture in CSS pixels. */
export interface PictureRequest {
  data: unknown[];
  layout: Record<string, unknown>;
  widthPx: number;
  heightPx: number;
}

/** One Plotly for any number of pictures. */
export interface Painter {
  /** Loads Plotly now, so that the first picture need not wait for it. */
  warm(): void;
  /**
   * The figure as an SVG text. The same request gives the same bytes.
   *
   * @throws {Error} Plotly cannot draw it; the message is Plotly's
   */
  svg(request: PictureRequest): Promise<string>;
  close(): void;
}

/** Trace types that need WebGL, maps or a picture decoder; jsdom has none of them, and they would come out empty. */
const NEEDS_BROWSER =
  /gl$|^(image|splom|surface|mesh3d|cone|streamtube|isosurface|volume|.*3d|.*(geo|mapbox)|choropleth.*|(density|scatter)map)$/;

export function openPainter(): Painter {
  let page: PlotlyWindow | null = null;
  let turn: Promise<unknown> = Promise.resolve();
  return {
    warm() {
      page ??= openPlotlyWindow();
    },
    svg(request) {
      page ??= openPlotlyWindow();
      const mine = page;
      const picture = turn.then(() => draw(mine, request));
      turn = picture.catch(() => {});
      return picture;
    },
    close() {
      page?.window.close();
      page = null;
    },
  };
}

async function draw({window, plotly}: PlotlyWindow, request: PictureRequest): Promise<string> {
  const {data, layout, widthPx: width, heightPx: height} = structuredClone(request);
  for (const trace of data) {
    const type = (trace as {type?: unknown}).type;
    if (typeof type === "string" && NEEDS_BROWSER.test(type)) {
      throw new Error(
        `a "${type}" trace cannot be drawn without a browser; use a scatter, bar, box, heatmap or contour trace`,
      );
    }
  }
  // Plotly names clip paths by random numbers: the same ones for every figure
  window.Math.random = seededRandom();
  const figure = {data, layout: withTickLabels({...layout, width, height}), config: {staticPlot: true}};
  return styleToAttributes(await plotly.toImage(figure, {format: "svg", imageDataOnly: true, width, height}));
}

/** Without a layout engine Plotly takes every tick label for overflowing and hides it, unless told otherwise. */
function withTickLabels(layout: Record<string, unknown>): Record<string, unknown> {
  const axes = new Set(["xaxis", "yaxis", ...Object.keys(layout).filter(key => /^[xy]axis\d*$/.test(key))]);
  const changed = [...axes].map(key => [key, {...(layout[key] as object), ticklabeloverflow: "allow"}]);
  return {...layout, ...Object.fromEntries(changed)};
}

/** Marsaglia's xorshift32 (J. Stat. Softw. 8(14), 2003), for names of clip paths only. */
function seededRandom(): () => number {
  let state = 2463534242;
  return () => {
    state ^= state << 13;
    state ^= state >>> 17;
    state ^= state << 5;
    return (state >>> 0) / 2 ** 32;
  };
}
