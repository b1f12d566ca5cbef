import type {CoastdownDocument} from "../result/coastdown-document.ts";
import {STANDARD_GRAVITY_MPS2} from "../units/table.ts";
import {fromSI} from "../units/unit.ts";
import {type Figure, figure} from "./figure.ts";
import {axis, baseLayout, rounded} from "./look.ts";

/** Points of a curve: straight between them it is off by less than a pixel. */
const POINTS = 33;
/** Layers from below; the hatching tells them apart without colour. */
const LAYERS = {
  rolling: {line: "#44546a", fill: "rgba(68, 84, 106, 0.30)", hatch: ""},
  air: {line: "#b4551d", fill: "rgba(180, 85, 29, 0.55)", hatch: "/"},
  slope: {line: "#8a6d1f", fill: "rgba(138, 109, 31, 0.45)", hatch: "."},
};

/**
 * What holds the car back, stacked over speed: rolling (F0 + F1 v), air (F2 v²), and on top the slope of the road on which the
 * runs were driven, uphill. The terms are those of a level road; slope cancels between the directions and is shown for its size.
 */
export function forceBudget(
  result: Pick<CoastdownDocument, "terms" | "forces" | "band" | "mass" | "grade" | "air">,
): Figure {
  const {terms, forces, band, mass, grade} = result;
  const term = (name: string) => terms.find(one => one.name === name)?.estimate ?? 0;
  const [f0N, f1, f2] = [term("F0"), term("F1"), term("F2")];
  const rollingN = (speed: number) => f0N + f1 * speed;
  const airN = (speed: number) => f2 * speed * speed;
  const slope = Math.abs(grade?.out ?? 0);
  const slopeN = (mass.mass_kg * STANDARD_GRAVITY_MPS2 * slope) / Math.sqrt(1 + slope * slope);
  const speeds = Array.from(
    {length: POINTS},
    (_, i) => band.to_mps + (i * (band.from_mps - band.to_mps)) / (POINTS - 1),
  );
  const shown = (speed: number) => fromSI(speed, band.unit);
  const x = rounded(speeds.map(shown), 2);
  const layer = (name: string, look: (typeof LAYERS)["air"], values: number[]) => ({
    type: "scatter",
    mode: "lines",
    stackgroup: "force",
    name,
    x,
    y: rounded(values, 1),
    line: {color: look.line, width: 1.2},
    fillcolor: look.fill,
    ...(look.hatch && {
      fillpattern: {shape: look.hatch, fgcolor: look.line, bgcolor: look.fill, size: 7, solidity: 0.25},
    }),
    hovertemplate: `${name}: %{y:.0f} N at %{x} ${band.unit}<extra></extra>`,
  });
  const data: Record<string, unknown>[] = [
    layer("rolling", LAYERS.rolling, speeds.map(rollingN)),
    layer("air", LAYERS.air, speeds.map(airN)),
    ...(slopeN >= 1
      ? [
          layer(
            "slope of this road, uphill",
            LAYERS.slope,
            speeds.map(() => slopeN),
          ),
        ]
      : []),
  ];
  if (forces.length > 0) {
    data.push({
      type: "scatter",
      mode: "markers",
      name: "rolling and air, with interval",
      x: rounded(
        forces.map(force => shown(force.speed_mps)),
        1,
      ),
      y: rounded(
        forces.map(force => force.estimate),
        1,
      ),
      error_y: {
        type: "data",
        array: rounded(
          forces.map(({interval, estimate}) => (interval ? interval.high - estimate : 0)),
          1,
        ),
        color: "#22252a",
        thickness: 1.5,
        width: 5,
      },
      marker: {color: "#22252a", symbol: "circle", size: 7},
      hovertemplate: `together %{y:.0f} N at %{x} ${band.unit}<extra></extra>`,
    });
  }
  const at = (speed: number) =>
    `at ${number(shown(speed))} ${band.unit} rolling ${rollingN(speed).toFixed(0)} N and air ${airN(speed).toFixed(0)} N`;
  return figure({
    id: "force-budget",
    caption:
      `What holds the car back on a level road in still air of ${result.air.density_kg_m3.toFixed(3)} kg/m³, stacked: rolling below, air above it. ` +
      (forces.length > 0 ? "Points: both together, with the interval of the runs. " : "") +
      (slopeN >= 1
        ? `On top: what this road's slope of ${(100 * slope).toFixed(2)}${grade?.u ? ` ± ${(100 * grade.u).toFixed(2)}` : ""} % adds uphill (${slopeN.toFixed(0)} N) and takes downhill; it is not in the terms. `
        : "") +
      `Force times speed is power: ${power(band.from_mps, rollingN(band.from_mps) + airN(band.from_mps))} at ${number(shown(band.from_mps))} ${band.unit}.`,
    alt: `Force against speed: ${at(band.to_mps)}, ${at(band.from_mps)}${equalWords(f0N, f1, f2, band, shown)}.`,
    data,
    layout: {
      ...baseLayout(),
      xaxis: axis(`speed [${band.unit}]`, {zeroline: false}),
      yaxis: axis("force [N]", {rangemode: "tozero"}),
    },
  });
}

/** Where air takes over from rolling, if it does so in the band: F2 v² = F0 + F1 v. */
function equalWords(
  f0N: number,
  f1: number,
  f2: number,
  band: CoastdownDocument["band"],
  shown: (speed: number) => number,
): string {
  const root = f1 * f1 + 4 * f2 * f0N;
  if (!(f2 > 0 && root > 0)) return "";
  const speed = (f1 + Math.sqrt(root)) / (2 * f2);
  if (speed < band.to_mps || speed > band.from_mps) return "";
  return `; they are equal at ${shown(speed).toFixed(0)} ${band.unit}`;
}

function power(speedMps: number, forceN: number): string {
  return `${((speedMps * forceN) / 1000).toFixed(1)} kW`;
}

function number(value: number): string {
  return String(Number(value.toFixed(1)));
}
