import type {FigureSpec} from "../result/figure.ts";
import type {Band} from "../result/session.ts";
import type {RunTrace} from "../result/trace.ts";
import {fromSI} from "../units/unit.ts";
import {type Figure, figure} from "./figure.ts";
import {ARM_LOOK, axis, baseLayout, GUIDE_COLOUR, rounded} from "./look.ts";

/**
 * Speed of every run against time since band entry, one thin line a run.
 *
 * @param traces runs around their passes; `timeS` = 0 where the run enters the band
 * @param band   the speed band, drawn as two horizontal guides
 */
export function speedTraces(traces: readonly RunTrace[], band: Band): Figure {
  const shown = traces.filter(trace => trace.timeS.length > 1);
  const from = fromSI(band.fromMps, band.unit);
  const to = fromSI(band.toMps, band.unit);
  const legendShown = new Set<string>();
  const data = shown.map(trace => {
    const look = ARM_LOOK[trace.arm];
    const showlegend = !legendShown.has(trace.arm);
    legendShown.add(trace.arm);
    return {
      type: "scatter",
      mode: "lines",
      name: trace.arm,
      legendgroup: trace.arm,
      showlegend,
      x: rounded(trace.timeS, 2),
      y: rounded(
        Array.from(trace.speedMps, speed => fromSI(speed, band.unit)),
        2,
      ),
      line: {color: look.colour, width: 1.4, dash: trace.used ? look.dash : "dot"},
      opacity: trace.used ? 0.75 : 0.4,
      text: `run ${trace.run}${trace.used ? "" : " (not used)"}`,
      hovertemplate: `%{text}: %{y} ${band.unit} at %{x} s<extra></extra>`,
    };
  });
  const guide = (level: number) => ({
    type: "line",
    xref: "paper",
    x0: 0,
    x1: 1,
    y0: level,
    y1: level,
    line: {color: GUIDE_COLOUR, width: 1, dash: "dot"},
  });
  const spec: FigureSpec = {
    id: "speed-traces",
    caption: `Speed of every run, aligned where it enters the band (${from} ${band.unit} at 0 s). Dotted lines: the band; a dotted trace is a run that was not used.`,
    alt: `Speed against time since band entry for ${shown.length} runs: ${armCount(shown, "baseline")} baseline, ${armCount(shown, "changed")} changed; they cross ${to} ${band.unit} ${crossingWords(shown, band)}.`,
    data,
    layout: {
      ...baseLayout(),
      xaxis: axis("time since band entry [s]"),
      yaxis: axis(`speed [${band.unit}]`),
      shapes: [guide(from), guide(to)],
    },
  };
  return figure(spec);
}

function armCount(traces: readonly RunTrace[], arm: RunTrace["arm"]): number {
  return traces.filter(trace => trace.arm === arm).length;
}

function crossingWords(traces: readonly RunTrace[], band: Band): string {
  const times = traces
    .map(
      trace => trace.timeS[trace.speedMps.findIndex((speed, i) => trace.timeS[i] > 0 && speed >= band.toMps)],
    )
    .filter(time => time !== undefined);
  if (times.length === 0) return "in none of them";
  return `after ${Math.min(...times).toFixed(1)} to ${Math.max(...times).toFixed(1)} s`;
}
