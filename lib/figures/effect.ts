import type {BesideRecord, IntervalRecord, JudgeDocument} from "../result/documents.ts";
import {type Figure, figure} from "./figure.ts";
import {ARM_LOOK, axis, baseLayout, digitsOf, GUIDE_COLOUR, WORTHWHILE_FILL} from "./look.ts";

/** Intervals beside the main one that are drawn; those that are there to be taught are left to the table. */
const BESIDE: Partial<Record<BesideRecord["name"], string>> = {
  fittings: "by fitting",
  runs: "by run",
  randomisation: "by lot",
};

/**
 * The difference changed − baseline with its intervals, over the band of differences too small to be worthwhile.
 *
 * @returns null when there is no interval (too few runs)
 */
export function effectFigure(result: JudgeDocument): Figure | null {
  const {estimate, interval, check} = result.effect;
  if (estimate === null || interval === null) return null;
  const rows: {label: string; interval: IntervalRecord}[] = [{label: "effect", interval}];
  if (check) rows.push({label: "bootstrap check", interval: check});
  for (const {name, interval: other} of result.effect.beside) {
    const label = BESIDE[name];
    if (other && label) rows.push({label, interval: other});
  }
  if (result.equivalence) rows.push({label: "equivalence", interval: result.equivalence.interval});
  const percent = ({level}: IntervalRecord) => `${Number((100 * level).toFixed(3))} %`;
  const unit = result.unit;
  const digits = digitsOf(unit);
  const mark = result.worthwhile.in_primary_unit;
  const data = rows.map(row => ({
    type: "scatter",
    mode: "markers",
    name: row.label,
    showlegend: false,
    x: [estimate],
    y: [`${row.label}, ${percent(row.interval)}`],
    error_x: {
      type: "data",
      symmetric: false,
      array: [row.interval.high - estimate],
      arrayminus: [estimate - row.interval.low],
      color: row.label === "effect" ? ARM_LOOK.changed.colour : GUIDE_COLOUR,
      thickness: row.label === "effect" ? 3 : 1.5,
      width: 7,
    },
    marker: {
      color: row.label === "effect" ? ARM_LOOK.changed.colour : GUIDE_COLOUR,
      size: 10,
      symbol: "diamond",
    },
    hovertemplate: `${row.interval.low.toFixed(digits)} to ${row.interval.high.toFixed(digits)} ${unit}<extra>${row.label}</extra>`,
  }));
  const shapes: Record<string, unknown>[] = [
    {type: "line", yref: "paper", y0: 0, y1: 1, x0: 0, x1: 0, line: {color: "#22252a", width: 1}},
  ];
  if (mark !== null) {
    shapes.push({
      type: "rect",
      layer: "below",
      yref: "paper",
      y0: 0,
      y1: 1,
      x0: -mark,
      x1: mark,
      fillcolor: WORTHWHILE_FILL,
      line: {width: 0},
    });
  }
  const difference = `${result.arms.changed.label} − ${result.arms.baseline.label}`; // letters, where the labels are sealed
  return figure({
    id: "effect",
    caption: `Difference ${difference} in ${result.primary.replaceAll("-", " ")}, with its interval (${interval.method})${check ? `, the same by ${check.method}` : ""}, others beside it where the plan allows them, and the narrower one that equivalence is judged by. Shaded: differences smaller than the worthwhile one${mark === null ? "" : ` (±${mark.toFixed(digits)} ${unit})`}.`,
    alt: `Difference ${estimate.toFixed(digits)} ${unit}, ${rows.map(row => `${row.label} interval ${row.interval.low.toFixed(digits)} to ${row.interval.high.toFixed(digits)}`).join(", ")}${mark === null ? "" : `; worthwhile ±${mark.toFixed(digits)}`}.`,
    data,
    layout: {
      ...baseLayout(),
      height: 110 + 45 * rows.length,
      xaxis: axis(`${difference} [${unit}]`),
      yaxis: axis("", {autorange: "reversed", gridcolor: "#ffffff", ticks: ""}),
      shapes,
    },
  });
}
