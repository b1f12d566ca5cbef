import {readFileSync} from "node:fs";
import {createRequire} from "node:module";
import vm from "node:vm";
import {type DOMWindow, JSDOM} from "jsdom";
import {installMeasuring} from "./measure.ts";

const require = createRequire(import.meta.url);

/** The part of Plotly that drawing needs. */
export interface PlotlyInWindow {
  toImage(figure: Record<string, unknown>, options: Record<string, unknown>): Promise<string>;
}

/** A page without a screen in which Plotly runs. */
export interface PlotlyWindow {
  window: DOMWindow;
  plotly: PlotlyInWindow;
}

/** Loads Plotly into a fresh jsdom window; takes about 0.8 s. Nothing in it can reach the network. */
export function openPlotlyWindow(): PlotlyWindow {
  const dom = new JSDOM("<!doctype html><html><body></body></html>", {
    runScripts: "outside-only",
    pretendToBeVisual: true,
  });
  const {window} = dom;
  installMeasuring(window);
  window.URL.createObjectURL = () => "blob:none";
  window.URL.revokeObjectURL = () => {};
  window.HTMLCanvasElement.prototype.getContext = (() => idleCanvas()) as never;
  window.matchMedia ??= (() => ({matches: false, addEventListener() {}, addListener() {}})) as never;
  const file = require.resolve("plotly.js-dist/plotly.js");
  new vm.Script(readFileSync(file, "utf8"), {filename: file}).runInContext(dom.getInternalVMContext());
  return {window, plotly: (window as unknown as {Plotly: PlotlyInWindow}).Plotly};
}

/** Plotly asks for a canvas when it loads; nothing that we draw uses it. */
function idleCanvas() {
  const perLetterPx = 7;
  return {
    createImageData: (width: number, height: number) => ({data: new Uint8ClampedArray(4 * width * height)}),
    putImageData() {},
    fillRect() {},
    measureText: (text: string) => ({width: perLetterPx * text.length}),
  };
}
