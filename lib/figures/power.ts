import type {PowerCurves} from "../result/power-curves.ts";
import type {ArmName, Band} from "../result/session.ts";
import {fromSI} from "../units/unit.ts";
import {type Figure, figure} from "./figure.ts";
import {ARM_LOOK, axis, baseLayout, rounded} from "./look.ts";

const ARMS: readonly ArmName[] = ["baseline", "changed"];
const FILL: Record<ArmName | "difference", string> = {
  baseline: "rgba(68, 84, 106, 0.22)",
  changed: "rgba(180, 85, 29, 0.22)",
  difference: "rgba(34, 37, 42, 0.18)",
};
const DIFFERENCE_COLOUR = "#22252a";

/**
 * Wheel power against road speed or engine speed: a thin line a run, each arm's mean with its own 95 % band over runs, and below the
 * difference changed − baseline with the band that holds along the whole curve.
 *
 * @param curves as `powerCurves` gives them; null gives null
 * @param band   of the session: its unit is that of the axis
 */
export function powerFigure(curves: PowerCurves | null, band: Band): Figure | null {
  if (curves === null) return null;
  const {at, runs, arms, difference, resolution} = curves;
  const isSpeed = curves.axis === "speed";
  const shown = (value: number) => (isSpeed ? fromSI(value, band.unit) : value);
  const unit = isSpeed ? band.unit : "r/min";
  const x = rounded(at.map(shown), isSpeed ? 1 : 0);
  const kilowatts = (values: Float64Array) =>
    rounded(
      values.map(value => value / 1000),
      2,
    );
  const line = (name: string, y: Float64Array, look: Record<string, unknown>) => ({
    type: "scatter",
    mode: "lines",
    name,
    x,
    y: kilowatts(y),
    hovertemplate: `%{y} kW at %{x} ${unit}<extra>${name}</extra>`,
    ...look,
  });
  const around = (name: string, middle: Float64Array, half: Float64Array, look: Record<string, unknown>) => ({
    type: "scatter",
    mode: "lines",
    name,
    showlegend: false,
    x: [...x, ...[...x].reverse()],
    y: kilowatts(
      Float64Array.of(
        ...middle.map((value, k) => value + half[k]),
        ...middle.map((value, k) => value - half[k]).reverse(),
      ),
    ),
    fill: "toself",
    line: {width: 0},
    hoverinfo: "skip",
    ...look,
  });
  const data: Record<string, unknown>[] = runs.map(({run, arm, powerW}) =>
    line(`run ${run}`, powerW, {
      showlegend: false,
      opacity: 0.35,
      line: {color: ARM_LOOK[arm].colour, width: 0.8, dash: ARM_LOOK[arm].dash},
    }),
  );
  for (const arm of ARMS) {
    const {meanW, halfWidthW, runs: n} = arms[arm];
    if (n === 0) continue;
    if (halfWidthW)
      data.push(around(`${arm}, 95 % band of the mean`, meanW, halfWidthW, {fillcolor: FILL[arm]}));
    data.push(
      line(`${arm}, mean of ${n}`, meanW, {
        line: {color: ARM_LOOK[arm].colour, width: 2.4, dash: ARM_LOOK[arm].dash},
      }),
    );
  }
  if (difference) {
    const {estimateW, halfWidthW} = difference;
    data.push(
      around("band of the difference", estimateW, halfWidthW, {fillcolor: FILL.difference, yaxis: "y2"}),
      line("changed − baseline", estimateW, {
        yaxis: "y2",
        showlegend: false,
        line: {color: DIFFERENCE_COLOUR, width: 2.2},
      }),
    );
  }
  const span = isSpeed ? fromSI(resolution.span, band.unit) : resolution.span;
  const where = isSpeed ? "road speed" : "engine speed";
  return figure({
    id: `power-by-${curves.axis}`,
    caption: `Wheel power against ${where}, road and wind taken out: a thin line a run, each arm's mean with its 95 % band over runs${
      difference
        ? `, and below the difference with a band that holds along the whole curve (${100 * difference.level} %, ${difference.method})`
        : ""
    }. Speed is smoothed over ± ${resolution.halfWidthS.toFixed(2)} s, about ± ${span.toFixed(isSpeed ? 1 : 0)} ${unit}: nothing narrower is seen. In one run noise leaves ${(resolution.noiseW / 1000).toFixed(1)} kW and smoothing takes ${(resolution.biasW / 1000).toFixed(1)} kW off bends. What both arms share (mass, drag) moves all curves together and is not in the bands.${leftOutWords(curves)}`,
    alt: `Wheel power against ${where} from ${x[0]} to ${x[x.length - 1]} ${unit}: ${ARMS.filter(
      arm => arms[arm].runs > 0,
    )
      .map(
        arm =>
          `${arm} mean of ${arms[arm].runs} runs from ${kilowattsAt(arms[arm].meanW, 0)} to ${kilowattsAt(arms[arm].meanW, x.length - 1)} kW`,
      )
      .join(
        "; ",
      )}. ${differenceWords(curves, value => `${rounded([shown(value)], isSpeed ? 0 : -1)[0]} ${unit}`)}`,
    data,
    layout: {
      ...baseLayout(),
      height: difference ? 540 : 400,
      xaxis: axis(`${where} [${unit}]`, {zeroline: false, ...(difference && {anchor: "y2"})}),
      yaxis: axis("wheel power [kW]", {zeroline: false, ...(difference && {domain: [0.41, 1]})}),
      ...(difference && {yaxis2: axis("difference [kW]", {domain: [0, 0.32], rangemode: "tozero"})}),
    },
  });
}

function kilowattsAt(values: Float64Array, k: number): string {
  return (values[k] / 1000).toFixed(1);
}

function leftOutWords({leftOut}: PowerCurves): string {
  return leftOut.length === 0
    ? ""
    : ` Left out: ${leftOut.map(({run, reason}) => `run ${run} (${reason})`).join("; ")}.`;
}

function differenceWords({difference, tooFew}: PowerCurves, place: (value: number) => string): string {
  if (difference === null) return `No difference: ${tooFew ?? "too few runs"}.`;
  if (difference.ranges.length === 0) return "The band of the difference holds zero everywhere.";
  return difference.ranges
    .map(
      ({from, to, meanW}) =>
        `The band of the difference is clear of zero within ${place(from)} to ${place(to)}; there changed is ${meanW < 0 ? "lower" : "higher"} by ${Math.abs(meanW / 1000).toFixed(1)} kW on average.`,
    )
    .join(" ");
}
