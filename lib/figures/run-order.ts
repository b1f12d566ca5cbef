import type {JudgeDocument} from "../result/documents.ts";
import type {ArmName} from "../result/session.ts";
import {type Figure, figure} from "./figure.ts";
import {ARM_LOOK, axis, baseLayout, digitsOf} from "./look.ts";

const ARMS: readonly ArmName[] = ["baseline", "changed"];

/**
 * The primary measure of every run in the order driven, with each arm's mean and the t interval of that mean.
 * The bars of the two arms say how well each mean is known; the comparison itself is in `effectFigure`.
 */
export function runOrder(result: JudgeDocument): Figure {
  const data: Record<string, unknown>[] = [];
  const shapes: Record<string, unknown>[] = [];
  const words: string[] = [];
  for (const arm of ARMS) {
    const look = ARM_LOOK[arm];
    const runs = result.runs.filter(run => run.arm === arm && run.value !== null);
    data.push({
      type: "scatter",
      mode: "markers",
      name: `${arm}: ${result.arms[arm].label}`,
      x: runs.map(run => run.run),
      y: runs.map(run => run.value),
      error_y: {
        type: "data",
        array: runs.map(run => run.value_u ?? 0),
        color: look.colour,
        thickness: 1,
        width: 3,
      },
      marker: {
        color: runs.map(run => (run.used ? look.colour : "#ffffff")),
        symbol: look.symbol,
        size: 10,
        line: {color: look.colour, width: 1.5},
      },
      hovertemplate: `run %{x}: %{y:.${digitsOf(result.unit)}f} ${result.unit}<extra>${arm}</extra>`,
    });
    const {mean, precision, n} = result.arms[arm];
    if (mean === null) continue;
    words.push(`${arm} mean ${mean.toFixed(digitsOf(result.unit))} ${result.unit} over ${n} runs`);
    shapes.push({
      type: "line",
      xref: "paper",
      x0: 0,
      x1: 1,
      y0: mean,
      y1: mean,
      line: {color: look.colour, width: 1.5, dash: look.dash},
    });
    if (precision !== null) {
      shapes.push({
        type: "rect",
        layer: "below",
        xref: "paper",
        x0: 0,
        x1: 1,
        y0: mean * (1 - precision),
        y1: mean * (1 + precision),
        fillcolor: look.colour,
        opacity: 0.08,
        line: {width: 0},
      });
    }
  }
  return figure({
    id: "run-order",
    caption: `${sentence(result.primary)} of every run in the order driven. Lines: mean of each arm; shaded: its own 95 % t interval; bars: standard uncertainty of the single value; hollow: not used.`,
    alt: `${sentence(result.primary)} against run number: ${words.join("; ")}.`,
    data,
    layout: {
      ...baseLayout(),
      xaxis: axis("run, in the order driven", {dtick: 1, zeroline: false}),
      yaxis: axis(`${result.primary} [${result.unit}]`, {zeroline: false}),
      shapes,
    },
  });
}

function sentence(measure: string): string {
  return measure.charAt(0).toUpperCase() + measure.slice(1).replaceAll("-", " ");
}
