import type {JudgeDocument} from "../result/documents.ts";
import {type Figure, figure} from "./figure.ts";
import {ARM_LOOK, axis, baseLayout} from "./look.ts";

/**
 * The difference changed − baseline from raw to corrected, a step a cause. The causes are exchanged one at a time, so what
 * their products make is a step of its own.
 *
 * @returns null where the result holds no correction
 */
export function correctionWaterfall({correction}: Pick<JudgeDocument, "correction">): Figure | null {
  if (!correction) return null;
  const {raw_s, grade_s, wind_s, air_s, mass_s, corrected_s} = correction.difference;
  const steps: [string, number][] = [
    ["grade", grade_s],
    ["wind", wind_s],
    ["air", air_s],
    ["mass", mass_s],
    ["together", corrected_s - raw_s - grade_s - wind_s - air_s - mass_s],
  ];
  const uS = correction.budget.u_s;
  let level = raw_s;
  const bars = steps.map(([, step]) => {
    const base = level;
    level += step;
    return {base, step};
  });
  const seconds = (value: number) => `${value < 0 ? "−" : "+"}${Math.abs(value).toFixed(3)} s`;
  return figure({
    id: "correction-waterfall",
    caption: `Difference changed − baseline as driven, what each cause makes of it, and corrected. “Together” is what the causes make only jointly. Bar at the end: standard uncertainty of the correction (${uS.toFixed(3)} s).`,
    alt: `Raw difference ${seconds(raw_s)}; ${steps.map(([name, step]) => `${name} ${seconds(step)}`).join(", ")}; corrected difference ${seconds(corrected_s)}.`,
    data: [
      {
        type: "bar",
        showlegend: false,
        x: ["raw", ...steps.map(([name]) => name), "corrected"],
        y: [raw_s, ...bars.map(bar => bar.step), corrected_s],
        base: [0, ...bars.map(bar => bar.base), 0],
        marker: {
          color: [
            ARM_LOOK.baseline.colour,
            ...bars.map(({step}) => (step < 0 ? "#2f5d50" : "#8a6d1f")),
            ARM_LOOK.changed.colour,
          ],
        },
      },
      {
        // a trace of its own: a bar of length zero would still get its caps
        type: "scatter",
        mode: "markers",
        name: "corrected",
        showlegend: false,
        x: ["corrected"],
        y: [corrected_s],
        marker: {color: "#22252a", size: 1},
        error_y: {type: "data", array: [uS], color: "#22252a", thickness: 1.5, width: 6},
        hoverinfo: "skip",
      },
    ],
    layout: {...baseLayout(), yaxis: axis("changed − baseline [s]"), xaxis: axis("")},
  });
}
