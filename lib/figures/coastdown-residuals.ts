import type {CoastdownDocument} from "../result/coastdown-document.ts";
import {fromSI} from "../units/unit.ts";
import {type Figure, figure} from "./figure.ts";
import {axis, baseLayout, GUIDE_COLOUR, rounded} from "./look.ts";

/** Runs of one panel: marker, dash and colour all differ, so that any one of them is enough. */
const LOOKS = [
  {color: "#2f5d50", symbol: "circle", dash: "solid"},
  {color: "#b4551d", symbol: "diamond", dash: "dash"},
  {color: "#44546a", symbol: "square", dash: "dot"},
  {color: "#7a4b8c", symbol: "triangle-up", dash: "dashdot"},
  {color: "#8a6d1f", symbol: "x", dash: "longdash"},
  {color: "#22252a", symbol: "star", dash: "longdashdot"},
];
/** Height of a panel and of all around the panels [px]. */
const PANEL_PX = 190;
const AROUND_PX = 110;
/** Share of the height between two panels. */
const GAP = 0.1;
const TITLES = {out: "driven out", back: "driven back", unknown: "direction not noted"};

/**
 * What the fit leaves of every coastdown against speed, a panel a direction. Gusts and the logger make lines that wander about
 * zero; a bend that all runs share is a road or a model that does not fit; a run that stands apart was more than rolling.
 *
 * @returns null where no run was fitted
 */
export function coastdownResiduals({runs, band}: Pick<CoastdownDocument, "runs" | "band">): Figure | null {
  const fitted = runs.flatMap(run => (run.residuals ? [{...run, residuals: run.residuals}] : []));
  if (fitted.length === 0) return null;
  const directions = (["out", "back", "unknown"] as const).filter(direction =>
    fitted.some(run => (run.direction ?? "unknown") === direction),
  );
  const height = (1 - GAP * (directions.length - 1)) / directions.length;
  const data: Record<string, unknown>[] = [];
  const axes: Record<string, unknown> = {};
  const annotations: Record<string, unknown>[] = [];
  let most = {run: 0, size: 0};
  for (const {run, residuals} of fitted) {
    const size = Math.max(...residuals.residual_mps.map(Math.abs));
    if (size > most.size) most = {run, size};
  }
  const reach = 1.15 * most.size || 1;
  for (const [panel, direction] of directions.entries()) {
    const name = panel === 0 ? "" : String(panel + 1);
    const top = 1 - panel * (height + GAP);
    axes[`yaxis${name}`] = axis("speed − fit [m/s]", {
      domain: [Math.max(0, top - height), top],
      range: [-reach, reach],
      zerolinecolor: GUIDE_COLOUR,
    });
    annotations.push({
      xref: "paper",
      yref: "paper",
      x: 0,
      y: top,
      xanchor: "left",
      yanchor: "bottom",
      showarrow: false,
      text: `<b>${TITLES[direction]}</b>`,
    });
    for (const [k, run] of fitted.filter(one => (one.direction ?? "unknown") === direction).entries()) {
      const {color, symbol, dash} = LOOKS[k % LOOKS.length];
      data.push({
        type: "scatter",
        mode: "lines+markers",
        name: `run ${run.run}`,
        yaxis: `y${name}`,
        x: rounded(
          run.residuals.speed_mps.map(speed => fromSI(speed, band.unit)),
          1,
        ),
        y: run.residuals.residual_mps,
        line: {color, dash, width: 1.6},
        marker: {color, symbol, size: 6},
        hovertemplate: `run ${run.run}: %{y:.3f} m/s at %{x} ${band.unit}<extra></extra>`,
      });
    }
  }
  const spread = Math.sqrt(
    fitted.reduce((sum, run) => sum + (run.residual_mps ?? 0) ** 2, 0) / fitted.length,
  );
  return figure({
    id: "coastdown-residuals",
    caption:
      "What the fit leaves of each run: measured speed minus that of the run's own fit, as means of short parts. Gusts and the logger make lines that wander about zero. " +
      "A bend that all runs share would be a road or a car that the terms do not describe; a line that stands apart, a run that did more than roll.",
    alt: `Speed minus fit against speed for ${fitted.length} coastdowns, ${directions.map(direction => `${fitted.filter(run => (run.direction ?? "unknown") === direction).length} ${TITLES[direction]}`).join(" and ")}: the lines stay within ${most.size.toFixed(2)} m/s of zero, furthest in run ${most.run}; single samples scatter by ${spread.toFixed(2)} m/s.`,
    data,
    layout: {
      ...baseLayout(),
      height: AROUND_PX + PANEL_PX * directions.length,
      margin: {l: 64, r: 20, t: 24, b: 56},
      legend: {orientation: "h", x: 0, y: 1 + GAP * height, xanchor: "left", yanchor: "bottom"},
      xaxis: axis(`speed [${band.unit}]`, {
        zeroline: false,
        anchor: `y${directions.length === 1 ? "" : directions.length}`,
      }),
      ...axes,
      annotations,
    },
  });
}
