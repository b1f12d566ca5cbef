import type {ChannelDocument, SurveyRecord} from "../result/channel-document.ts";
import type {ArmName} from "../result/session.ts";
import {channelName, printDifference, printP, threeDigits} from "../units/shown.ts";
import {type Figure, figure} from "./figure.ts";
import {ARM_LOOK, axis, baseLayout, rounded} from "./look.ts";

/** As many channels as a page can show; the others are in the table. */
const MOST_CHANNELS = 24;
/** Spreads shown on both sides; what lies beyond is drawn at the edge. */
const EDGE = 8;

/**
 * Every channel in a row of its own: each run's mean within the band, counted in spreads from the mean of the baseline, so that channels of
 * all units stand side by side. Channels that differ after adjustment are named so in words.
 *
 * @returns null where no channel could be compared
 */
export function channelSurveyFigure(document: ChannelDocument): Figure | null {
  const {survey, arms} = document;
  const channels = survey.channels.slice(0, MOST_CHANNELS);
  if (channels.length === 0) return null;
  const label = ({channel, differs}: SurveyRecord) => `${differs ? "▶ " : ""}${channelName(channel)}`;
  const data: Record<string, unknown>[] = (["baseline", "changed"] as const).map(arm => {
    const points = channels.flatMap(entry => standardised(entry, arm).map(x => ({x, y: label(entry)})));
    const {colour, symbol} = ARM_LOOK[arm];
    return {
      type: "scatter",
      mode: "markers",
      name: arms[arm].label,
      x: rounded(
        points.map(({x}) => Math.max(-EDGE, Math.min(EDGE, x))),
        3,
      ),
      y: points.map(({y}) => y),
      marker: {
        color: colour,
        symbol: arm === "baseline" ? "circle-open" : symbol,
        size: arm === "baseline" ? 8 : 7,
        line: {color: colour, width: 1.3},
        opacity: 0.8,
      },
      hovertemplate: `%{y}: %{x:.1f} spreads<extra>${arm}</extra>`,
    };
  });
  data.push({
    type: "scatter",
    mode: "markers",
    name: "difference of the means",
    x: rounded(
      channels.map(({size}) => Math.max(-EDGE, Math.min(EDGE, size))),
      3,
    ),
    y: channels.map(label),
    marker: {symbol: "line-ns-open", size: 13, color: "#22252a", line: {color: "#22252a", width: 3}},
    text: channels.map(({channel, estimate, unit}) => printDifference(estimate, unit, channel)),
    hovertemplate: "%{y}: %{text}<extra>difference</extra>",
  });
  const differing = channels.filter(({differs}) => differs);
  const words = (entry: SurveyRecord) =>
    `${channelName(entry.channel)} ${printDifference(entry.estimate, entry.unit, entry.channel)} (${threeDigits(Math.abs(entry.size))} spreads, adjusted p ${printP(entry.adjusted_p)})`;
  const rest = survey.channels.length - channels.length;
  return figure({
    id: "channel-survey",
    caption: `${survey.looked} channels looked at, largest difference first${rest > 0 ? ` (the first ${channels.length} of them)` : ""}: a mark is the mean of a run within the band, in spreads between runs from the mean of ${arms.baseline.label}; the upright bar is the difference of the arms. A ▶ and “differs” mean that p, adjusted for all of them (${survey.method}), is at most ${Number((1 - survey.level).toFixed(4))}.`,
    alt: `Survey of ${survey.looked} channels: ${differing.length > 0 ? `after adjustment these differ: ${differing.map(words).join("; ")}` : `none differs after adjustment; the largest is ${words(channels[0])}`}.`,
    data,
    layout: {
      ...baseLayout(),
      height: 110 + 26 * channels.length,
      xaxis: axis("spreads from the baseline", {zeroline: true, zerolinewidth: 2}),
      yaxis: axis("", {
        autorange: "reversed",
        type: "category",
        categoryorder: "array",
        categoryarray: channels.map(label),
        ticks: "",
      }),
      annotations: channels.map(entry => ({
        xref: "paper",
        x: 1.01,
        xanchor: "left",
        y: label(entry),
        text: `${entry.differs ? "differs, " : ""}p ${printP(entry.adjusted_p)}`,
        showarrow: false,
        font: {size: 11},
      })),
      margin: {l: 64, r: 120, t: 16, b: 56},
    },
  });
}

function standardised({values, spread}: SurveyRecord, arm: ArmName): number[] {
  const baseline = values.filter(run => run.arm === "baseline");
  const mean = baseline.reduce((sum, {value}) => sum + value, 0) / baseline.length;
  return values.filter(run => run.arm === arm).map(({value}) => (value - mean) / spread);
}
