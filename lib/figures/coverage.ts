import {type Figure, figure} from "./figure.ts";
import {axis, baseLayout, GUIDE_COLOUR} from "./look.ts";

/** How often an interval held the truth, for one number of runs an arm. */
export interface CoveragePoint {
  method: string;
  /** runs an arm */
  runs: number;
  /** share of simulated days, 0 … 1 */
  covered: number;
  /** how many days */
  days: number;
}

/** Lines and marks of as many methods as a reader can tell apart; colour is never the only carrier. */
const LOOKS = [
  {color: "#2f5d50", symbol: "circle", dash: "solid"},
  {color: "#44546a", symbol: "square", dash: "dash"},
  {color: "#b4551d", symbol: "diamond", dash: "dot"},
  {color: "#7a4b8c", symbol: "triangle-up", dash: "dashdot"},
  {color: "#8a6d1f", symbol: "x", dash: "longdash"},
];

/**
 * Coverage of several intervals against the number of runs an arm, with the coverage they claim as a guide.
 *
 * @param points a method has one point a number of runs
 */
export function coverageFigure(
  points: readonly CoveragePoint[],
  {id, caption, level}: {id: string; caption: string; level: number},
): Figure {
  const methods = [...new Set(points.map(point => point.method))];
  const words: string[] = [];
  const data = methods.map((method, m) => {
    const own = points.filter(point => point.method === method).sort((a, b) => a.runs - b.runs);
    const look = LOOKS[m % LOOKS.length];
    const [first, last] = [own[0], own[own.length - 1]];
    words.push(
      `${method} ${percent(first.covered)} % at ${first.runs}${first === last ? "" : ` and ${percent(last.covered)} % at ${last.runs}`} runs an arm`,
    );
    return {
      type: "scatter",
      mode: "lines+markers",
      name: method,
      x: own.map(point => point.runs),
      y: own.map(point => 100 * point.covered),
      error_y: {
        type: "data",
        array: own.map(({covered, days}) => 100 * Math.sqrt((covered * (1 - covered)) / days)),
        color: look.color,
        thickness: 1,
        width: 3,
      },
      line: {color: look.color, dash: look.dash, width: 1.8},
      marker: {color: look.color, symbol: look.symbol, size: 8},
      hovertemplate: `%{x} runs an arm: %{y:.1f} %<extra>${method}</extra>`,
    };
  });
  return figure({
    id,
    caption,
    alt: `Share of days whose interval held the truth, against runs an arm: ${words.join("; ")}.`,
    data,
    layout: {
      ...baseLayout(),
      xaxis: axis("runs an arm", {dtick: 1, zeroline: false}),
      yaxis: axis("days whose interval held the truth [%]", {zeroline: false}),
      shapes: [
        {
          type: "line",
          xref: "paper",
          x0: 0,
          x1: 1,
          y0: 100 * level,
          y1: 100 * level,
          line: {color: GUIDE_COLOUR, width: 1.5, dash: "dot"},
        },
      ],
    },
  });
}

function percent(share: number): string {
  return (100 * share).toFixed(1);
}
