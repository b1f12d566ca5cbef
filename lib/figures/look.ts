import type {ArmName} from "../result/session.ts";

/** How an arm looks in every figure. Marker and line style differ too: colour is never the only carrier. */
export const ARM_LOOK: Record<ArmName, {colour: string; symbol: string; dash: string}> = {
  baseline: {colour: "#44546a", symbol: "circle", dash: "solid"},
  changed: {colour: "#b4551d", symbol: "diamond", dash: "dash"},
};

export const GUIDE_COLOUR = "#8a8f98";
export const WORTHWHILE_FILL = "rgba(120, 140, 110, 0.16)";

/** Layout that every figure starts from. */
export function baseLayout(): Record<string, unknown> {
  return {
    width: 720,
    height: 400,
    margin: {l: 64, r: 20, t: 16, b: 56},
    paper_bgcolor: "#ffffff",
    plot_bgcolor: "#ffffff",
    font: {family: "DejaVu Sans, Verdana, sans-serif", size: 13, color: "#22252a"},
    legend: {orientation: "h", x: 0, y: 1.02, xanchor: "left", yanchor: "bottom"},
    hovermode: "closest",
  };
}

/** An axis with a title, a light grid and no heavy box. */
export function axis(title: string, more: Record<string, unknown> = {}): Record<string, unknown> {
  return {
    title: {text: title},
    gridcolor: "#e6e8ec",
    zerolinecolor: "#c3c7cf",
    linecolor: "#8a8f98",
    ticks: "outside",
    tickcolor: "#8a8f98",
    automargin: true,
    ...more,
  };
}

/** Rounds to `digits` after the point, so that a stored figure stays small. */
export function rounded(values: ArrayLike<number>, digits: number): number[] {
  const scale = 10 ** digits;
  return Array.from(values, value => Math.round(value * scale) / scale);
}

/** Digits after the point that a measure is shown with: milliseconds, and whole watts. */
export function digitsOf(unit: string): number {
  return unit === "W" ? 0 : 3;
}
