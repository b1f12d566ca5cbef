import type {DayRoad} from "../result/day-road.ts";
import {type Figure, figure} from "./figure.ts";
import {axis, baseLayout, rounded, WORTHWHILE_FILL} from "./look.ts";

/** Directions differ in line style too. */
const DIRECTION_LOOK = {
  out: {colour: "#2f5d50", dash: "solid", name: "out"},
  back: {colour: "#8a6d1f", dash: "dash", name: "back"},
  null: {colour: "#44546a", dash: "dot", name: "direction not noted"},
} as const;
const PROFILE_COLOUR = "#22252a";
const BAND_FILL = "rgba(34, 37, 42, 0.18)";
/** Every so many samples of a run are drawn: heights change slowly. */
const THINNING = 3;

/**
 * Height of the road against place, with the heights of the runs on it, and the grade below; both with their 95 % bands.
 *
 * @param road as `dayRoad` gives it; null gives null
 */
export function roadFigure(road: DayRoad | null): Figure | null {
  if (road === null) return null;
  const {placeM, heightM, grade, heightHalfWidthM, gradeHalfWidth, runs, pulls} = road;
  const place = rounded(placeM, 1);
  const percent = grade.map(value => 100 * value);
  const seen = new Set<string>();
  const data: Record<string, unknown>[] = runs.map(run => {
    const look = DIRECTION_LOOK[`${run.direction}`];
    const showlegend = !seen.has(look.name);
    seen.add(look.name);
    const thin = (values: Float64Array) => values.filter((_, row) => row % THINNING === 0);
    return {
      type: "scatter",
      mode: "lines",
      name: look.name,
      legendgroup: look.name,
      showlegend,
      x: rounded(thin(run.placeM), 1),
      y: rounded(thin(run.heightM), 2),
      line: {color: look.colour, width: 1, dash: look.dash},
      opacity: 0.6,
      text: `run ${run.run}`,
      hovertemplate: `run ${run.run}: %{y:.2f} m at %{x:.0f} m<extra></extra>`,
    };
  });
  const band = (values: Float64Array, half: Float64Array | null, yaxis: "y" | "y2", digits: number) =>
    half === null
      ? []
      : [
          {
            type: "scatter",
            mode: "lines",
            name: yaxis === "y" ? "95 % band of the shape" : "95 % band of the grade",
            showlegend: false,
            x: [...place, ...[...place].reverse()],
            y: rounded(
              [
                ...values.map((value, k) => value + half[k]),
                ...values.map((value, k) => value - half[k]).reverse(),
              ],
              digits,
            ),
            yaxis,
            fill: "toself",
            fillcolor: BAND_FILL,
            line: {width: 0, color: BAND_FILL},
            hoverinfo: "skip",
          },
        ];
  const line = (values: Float64Array, yaxis: "y" | "y2", unit: string) => ({
    type: "scatter",
    mode: "lines",
    name: yaxis === "y" ? "all runs together" : "grade",
    showlegend: yaxis === "y",
    x: place,
    y: rounded(values, 3),
    yaxis,
    line: {color: PROFILE_COLOUR, width: 2.2},
    hovertemplate: `%{y} ${unit} at %{x:.0f} m<extra></extra>`,
  });
  data.push(
    ...band(heightM, heightHalfWidthM, "y", 3),
    line(heightM, "y", "m"),
    ...band(percent, gradeHalfWidth?.map(value => 100 * value) ?? null, "y2", 3),
    line(percent, "y2", "%"),
  );
  const [low, high] = [Math.min(...percent), Math.max(...percent)];
  const count = (direction: string | null) => runs.filter(run => run.direction === direction).length;
  const known =
    gradeHalfWidth && pulls
      ? mean(gradeHalfWidth.filter((_, k) => placeM[k] >= pulls.fromM && placeM[k] <= pulls.toM))
      : null;
  const within = known === null || !Number.isFinite(known) ? "" : ` ± ${(100 * known).toFixed(2)} %`;
  const where = pulls ? " Shaded: where the pulls ran." : "";
  return figure({
    id: "road-profile",
    caption: `The road from all ${runs.length} runs together: height about its mean with its 95 % band, each run's own heights less its offset, and below the grade, uphill positive on the way out, in which the place grows.${where} Not known: ${road.unknown.join("; ")}.`,
    alt: `Height against place over ${Math.round(placeM[placeM.length - 1])} m of road from ${count("out")} runs out and ${count("back")} back: ${(Math.max(...heightM) - Math.min(...heightM)).toFixed(1)} m between the lowest and the highest place, grade from ${signedPercent(low)} to ${signedPercent(high)}${within && `, known to${within} (95 %) on average where the pulls ran`}. Heights of single runs scatter by ${road.residualSdM.toFixed(2)} m about it.`,
    data,
    layout: {
      ...baseLayout(),
      height: 520,
      xaxis: axis("place along the road [m]", {anchor: "y2", zeroline: false}),
      yaxis: axis("height [m]", {domain: [0.43, 1], zeroline: false}),
      yaxis2: axis("grade [%]", {domain: [0, 0.35]}),
      shapes: pulls
        ? [
            {
              type: "rect",
              layer: "below",
              yref: "paper",
              x0: pulls.fromM,
              x1: pulls.toM,
              y0: 0,
              y1: 1,
              fillcolor: WORTHWHILE_FILL,
              line: {width: 0},
            },
          ]
        : [],
    },
  });
}

function mean(values: Float64Array): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}

function signedPercent(value: number): string {
  return `${value < 0 ? "−" : "+"}${Math.abs(value).toFixed(1)} %`;
}
