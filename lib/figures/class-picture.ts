import type {CollectedTable} from "../result/workshop-documents.ts";
import {type Figure, figure} from "./figure.ts";
import {ARM_LOOK, axis, baseLayout, rounded} from "./look.ts";

/** How a table's interval is drawn: symbol and words differ too, so that no colour is needed to tell them apart. */
const KINDS = [
  {holds: true, name: "interval holds the truth", colour: ARM_LOOK.baseline.colour, symbol: "circle"},
  {holds: false, name: "interval misses the truth", colour: ARM_LOOK.changed.colour, symbol: "x"},
] as const;

/** Digits after the point of a time [s]. */
const DIGITS = 4;

/**
 * Every table's interval against its truth, one row a table. The truth of a table without a verdict is not shown: it
 * may still be judging.
 *
 * @param tables at least one
 * @param options id, default "class"; level of the intervals, for the caption
 * @throws {RangeError} there is no table
 */
export function classPicture(
  tables: readonly CollectedTable[],
  {id = "class", level = 0.95}: {id?: string; level?: number} = {},
): Figure {
  if (tables.length === 0) throw new RangeError("classPicture: there is no table to draw");
  const label = ({table}: CollectedTable) => `table ${table}`;
  const judged = tables.flatMap(table =>
    table.verdict?.interval && table.verdict.estimate !== null
      ? [
          {
            label: label(table),
            verdict: table.verdict,
            interval: table.verdict.interval,
            estimate: table.verdict.estimate,
          },
        ]
      : [],
  );
  const traces = KINDS.flatMap(({holds, name, colour, symbol}) => {
    const rows = judged.filter(({verdict}) => verdict.covered === holds);
    if (rows.length === 0) return [];
    return [
      {
        type: "scatter",
        mode: "markers",
        name,
        x: rounded(
          rows.map(({estimate}) => estimate),
          DIGITS,
        ),
        y: rows.map(row => row.label),
        error_x: {
          type: "data",
          symmetric: false,
          array: rounded(
            rows.map(({interval, estimate}) => interval.high - estimate),
            DIGITS,
          ),
          arrayminus: rounded(
            rows.map(({interval, estimate}) => estimate - interval.low),
            DIGITS,
          ),
          thickness: 3,
          width: 7,
          color: colour,
        },
        marker: {color: colour, symbol, size: 12},
        hovertemplate: "%{y}: %{x:.3f} s<extra></extra>",
      },
    ];
  });
  const known = tables.filter(({verdict}) => verdict !== null);
  const truths = {
    type: "scatter",
    mode: "markers",
    name: "truth",
    x: rounded(
      known.map(({truth}) => truth),
      DIGITS,
    ),
    y: known.map(label),
    marker: {symbol: "line-ns-open", size: 24, color: "#22252a", line: {width: 3, color: "#22252a"}},
    hovertemplate: "%{y}: truth %{x:.3f} s<extra></extra>",
  };
  const words = tables.map(table => `${label(table)} ${rowWords(table)}`);
  const [{unit}] = tables;
  return figure({
    id,
    caption: `Every table's estimate with its ${Number((100 * level).toFixed(3))} % interval (bar) against the truth of its part (upright stroke). Left of zero: the part shortens the pull.`,
    alt: `Intervals against truths, in ${unit}: ${words.join("; ")}.`,
    data: [...traces, truths],
    layout: {
      ...baseLayout(),
      height: 150 + 40 * tables.length,
      font: {...(baseLayout()["font"] as object), size: 15},
      xaxis: axis(`changed − baseline [${unit}]`, {
        zeroline: true,
        zerolinecolor: "#8a8f98",
        zerolinewidth: 2,
      }),
      yaxis: axis("", {
        type: "category",
        categoryorder: "array",
        categoryarray: tables.map(label),
        range: [tables.length - 0.4, -0.6],
        ticks: "",
      }),
    },
  });
}

function rowWords({truth, verdict}: CollectedTable): string {
  const print = (value: number) => value.toFixed(3).replace("-", "−");
  if (verdict === null) return "no verdict yet";
  if (verdict.interval === null) return `truth ${print(truth)}, no interval`;
  return `truth ${print(truth)}, interval ${print(verdict.interval.low)} to ${print(verdict.interval.high)}${verdict.covered ? "" : ", missed"}`;
}
