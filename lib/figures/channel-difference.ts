import type {ChannelDocument} from "../result/channel-document.ts";
import {channelName, printDifference, printP, shownUnit, threeDigits} from "../units/shown.ts";
import {axisTitle, axisValues} from "./channel-curves.ts";
import {type Figure, figure} from "./figure.ts";
import {ARM_LOOK, axis, baseLayout, rounded} from "./look.ts";

const BAND_FILL = "rgba(180, 85, 29, 0.16)";
const RANGE_FILL = "rgba(68, 84, 106, 0.12)";
const DIGITS = 4;

/**
 * Difference of the arms along the axis with the band that holds all along it, and the ranges in which it is clear of zero, marked by shade
 * and bracket.
 *
 * @returns null where the runs are too few for a band
 */
export function channelDifferenceFigure(document: ChannelDocument): Figure | null {
  const {curves, primary, unit} = document;
  if (!curves?.difference) return null;
  const {difference, ranges} = curves;
  const {symbol, scale, zero} = shownUnit(unit, primary);
  const unitText = zero === 0 ? symbol : (unit ?? "");
  const at = axisValues(curves);
  const axisScale = shownUnit(curves.axis_unit, curves.axis).scale;
  const shown = (values: readonly number[]) =>
    rounded(
      values.map(value => value * scale),
      DIGITS,
    );
  const [low, high, estimate] = [shown(difference.low), shown(difference.high), shown(difference.estimate)];
  const percent = Number((100 * difference.level).toFixed(3));
  const line = {color: ARM_LOOK.changed.colour, width: 1};
  const places = ranges.map(range => ({
    ...range,
    x0: range.from * axisScale,
    x1: range.to * axisScale,
    clear0: range.clear_from * axisScale,
    clear1: range.clear_to * axisScale,
    words: printDifference(range.mean, unit, primary),
  }));
  const found = places.map(
    ({x0, x1, clear0, clear1, words, p}) =>
      `the band is clear of zero from ${Math.round(clear0)} to ${Math.round(clear1)} (adjusted p ${printP(p)}), and the difference is estimated to reach from ${Math.round(x0)} to ${Math.round(x1)} with ${words} on average`,
  );
  return figure({
    id: "channel-difference",
    caption: `Difference changed − baseline of ${channelName(primary)} along ${axisTitle(curves)}, with the ${percent} % band that holds all along it at once (${difference.method}). ${places.length > 0 ? "The thick bar: where the band is clear of zero. Shaded: how far that difference is estimated to reach." : "Nowhere is the band clear of zero."}`,
    alt: `Difference of ${channelName(primary)} along ${axisTitle(curves)}, between ${threeDigits(Math.min(...estimate)).replace("-", "−")} and ${threeDigits(Math.max(...estimate)).replace("-", "−")} ${unitText}; ${found.length > 0 ? found.join("; ") : "the band holds zero everywhere"}.`,
    data: [
      {
        type: "scatter",
        mode: "lines",
        name: "lower edge",
        showlegend: false,
        x: at,
        y: low,
        line,
        hovertemplate: `%{x}: %{y:.2f} ${unitText}<extra>lower edge</extra>`,
      },
      {
        type: "scatter",
        mode: "lines",
        name: `${percent} % band`,
        x: at,
        y: high,
        line,
        fill: "tonexty",
        fillcolor: BAND_FILL,
        hovertemplate: `%{x}: %{y:.2f} ${unitText}<extra>upper edge</extra>`,
      },
      {
        type: "scatter",
        mode: "lines",
        name: "difference of the means",
        x: at,
        y: estimate,
        line: {color: ARM_LOOK.changed.colour, width: 3},
        hovertemplate: `%{x}: %{y:.2f} ${unitText}<extra>difference</extra>`,
      },
    ],
    layout: {
      ...baseLayout(),
      xaxis: axis(axisTitle(curves), {zeroline: false}),
      yaxis: axis(`changed − baseline${unitText === "" ? "" : ` [${unitText}]`}`, {zeroline: false}),
      shapes: [
        {type: "line", xref: "paper", x0: 0, x1: 1, y0: 0, y1: 0, line: {color: "#22252a", width: 1}},
        ...places.flatMap(({x0, x1, clear0, clear1}) => [
          {
            type: "rect",
            layer: "below",
            yref: "paper",
            x0,
            x1,
            y0: 0,
            y1: 1,
            fillcolor: RANGE_FILL,
            line: {width: 0},
          },
          {
            type: "line",
            yref: "paper",
            x0: clear0,
            x1: clear1,
            y0: 0.015,
            y1: 0.015,
            line: {color: "#22252a", width: 5},
          },
        ]),
      ],
      annotations: places.map(({x0, x1, words}) => ({
        x: (x0 + x1) / 2,
        y: 0.03,
        yref: "paper",
        yanchor: "bottom",
        text: `mean ${words}`,
        showarrow: false,
      })),
    },
  });
}
