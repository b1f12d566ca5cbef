import type {ChannelDocument, CurvesRecord} from "../result/channel-document.ts";
import type {ArmName} from "../result/session.ts";
import {channelName, shownUnit, threeDigits} from "../units/shown.ts";
import {type Figure, figure} from "./figure.ts";
import {ARM_LOOK, axis, baseLayout, rounded} from "./look.ts";

const ARMS: readonly ArmName[] = ["baseline", "changed"];
/** Digits after the point that a stored curve keeps. */
const DIGITS = 4;

/**
 * The channel asked about along its axis: a thin line a run and a thick one for the mean of each arm; of an arm with one run there is that
 * line alone.
 *
 * @returns null where no curve could be laid over another
 */
export function channelCurvesFigure(document: ChannelDocument): Figure | null {
  const {curves, primary, unit, arms} = document;
  if (!curves) return null;
  const {symbol, scale, zero} = shownUnit(unit, primary);
  const at = axisValues(curves);
  const shown = (values: readonly number[]) =>
    rounded(
      values.map(value => value * scale + zero),
      DIGITS,
    );
  const data: Record<string, unknown>[] = [];
  const words: string[] = [];
  for (const arm of ARMS) {
    const own = curves.runs.filter(run => run.arm === arm);
    if (own.length === 0) continue;
    const {colour, dash} = ARM_LOOK[arm];
    const isAlone = own.length === 1;
    if (!isAlone) {
      for (const {run, values} of own) {
        data.push({
          type: "scatter",
          mode: "lines",
          name: `run ${run}`,
          showlegend: false,
          x: at,
          y: shown(values),
          line: {color: colour, width: 0.9, dash},
          opacity: 0.6,
          hovertemplate: `%{x}: %{y:.2f} ${symbol}<extra>run ${run}, ${arm}</extra>`,
        });
      }
    }
    const mean = shown(meanCurve(own.map(({values}) => values)));
    data.push({
      type: "scatter",
      mode: "lines",
      name: `${arms[arm].label}, ${isAlone ? `run ${own[0].run} alone` : `mean of ${own.length} runs`}`,
      x: at,
      y: mean,
      line: {color: colour, width: 3, dash},
      hovertemplate: `%{x}: %{y:.2f} ${symbol}<extra>${arm}</extra>`,
    });
    const [low, high] = [Math.min(...mean), Math.max(...mean)];
    words.push(
      `${arms[arm].label} (${own.length} ${own.length === 1 ? "run" : "runs"}) between ${threeDigits(low).replace("-", "−")} and ${threeDigits(high).replace("-", "−")} ${symbol}`,
    );
  }
  const name = axisTitle(curves);
  return figure({
    id: "channel-curves",
    caption: `${capital(channelName(primary))} along ${name}: a thin line is a run, a thick one the mean of an arm${primary.startsWith("knock") ? "; spark that was taken out is negative" : ""}.${curves.difference ? "" : " With so few runs these are lines and nothing more: how much runs differ is not known."}`,
    alt: `${capital(channelName(primary))} along ${name} from ${at[0]} to ${at[at.length - 1]}: ${words.join("; ")}.`,
    data,
    layout: {
      ...baseLayout(),
      xaxis: axis(name, {zeroline: false}),
      yaxis: axis(`${channelName(primary)}${symbol === "" ? "" : ` [${symbol}]`}`, {zeroline: false}),
    },
  });
}

/** Places of the axis as they are shown. */
export function axisValues({at, axis: name, axis_unit}: CurvesRecord): number[] {
  const {scale} = shownUnit(axis_unit, name);
  return rounded(
    at.map(value => value * scale),
    2,
  );
}

/** "engine speed [r/min]" */
export function axisTitle({axis: name, axis_unit}: CurvesRecord): string {
  return `${name === "speed" ? "road speed" : name.replace("-", " ")} [${shownUnit(axis_unit, name).symbol}]`;
}

function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

function meanCurve(curves: readonly (readonly number[])[]): number[] {
  return curves[0].map((_, k) => curves.reduce((sum, values) => sum + values[k], 0) / curves.length);
}
