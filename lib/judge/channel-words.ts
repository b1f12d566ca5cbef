import type {MatchedCondition} from "../channels/conditions.ts";
import type {ChannelDocument} from "../result/channel-document.ts";
import {channelName, printDifference, printP, printSpan, shownUnit} from "../units/shown.ts";

/** An answer before its words. */
export type ChannelDraft = Omit<ChannelDocument, "words" | "silent" | "next">;

/** What a condition did, in words. `print` prints a value of the channel asked about. */
export function conditionWords(condition: MatchedCondition, print: (value: number) => string): string {
  const {name, unit, difference, interval, matched, explains} = condition;
  if (difference === null) return "cannot be compared: an arm has no run with it";
  const size = (value: number) => printDifference(value, unit, name);
  if (interval === null)
    return `differs by ${size(difference)}; the runs are too few, or all alike, for an interval`;
  const span = printSpan(difference, interval, {unit, name});
  if (matched) return `the same as far as these runs tell: ${span}`;
  const share =
    explains === null
      ? "what that makes of the channel cannot be measured here"
      : `by the slope among runs of one arm that would explain ${print(explains)}`;
  return `not the same conditions: ${span}; ${share}`;
}

/** What was shown, what it does not say, and what to do next. */
export function channelWords(draft: ChannelDraft): Pick<ChannelDocument, "words" | "silent" | "next"> {
  const unmatched = draft.conditions.filter(({matched}) => matched === false);
  const causes = unmatched.map(({name}) => channelName(name)).join(", ");
  const isShown = (draft.curves?.ranges.length ?? 0) > 0 || isClear(draft.effect.interval);
  return {
    words: [meanWords(draft), rangeWords(draft), timeWords(draft)].filter(words => words !== "").join(" "),
    silent: [
      "A channel that goes with the part is not shown to be moved by it.",
      unmatched.length > 0
        ? `The arms were not under the same conditions (${causes}): what the part does by itself and what these did cannot be told apart, unless the part is what moved them. Each condition was asked by itself: of ${draft.conditions.length} that are alike about ${((1 - draft.survey.level) * draft.conditions.length).toFixed(1)} would be flagged by chance.`
        : "The conditions that were logged do not differ as far as these runs tell; those that were not logged may.",
      "Channels are what the engine's own sensors and models say.",
    ].join(" "),
    next: nextWords(draft, {isShown, causes}),
  };
}

function meanWords({arms, effect, primary, unit}: ChannelDraft): string {
  const {baseline, changed} = arms;
  const runs = `${baseline.n} runs with ${baseline.label}, ${changed.n} with ${changed.label}`;
  if (effect.interval === null || effect.estimate === null)
    return `Nothing can be said of ${channelName(primary)} (${runs}): ${effect.too_few ?? "the runs are too few"}.`;
  const percent = Number((100 * effect.interval.level).toFixed(1));
  const span = `${printSpan(effect.estimate, effect.interval, {unit, name: primary})}, a ${percent} % interval (${runs})`;
  return isClear(effect.interval)
    ? `The mean of ${channelName(primary)} within the band differs: changed − baseline is ${span}.`
    : `The mean of ${channelName(primary)} within the band is not shown to differ: changed − baseline is ${span}.`;
}

function rangeWords({curves, unit, primary}: ChannelDraft): string {
  if (!curves) return "";
  const {difference, ranges, axis, axis_unit} = curves;
  if (!difference)
    return curves.too_few === null
      ? ""
      : `Along ${axis.replace("-", " ")} nothing can be said: ${curves.too_few}.`;
  const {symbol, scale} = shownUnit(axis_unit, axis);
  const edges = (from: number, to: number, and: string) =>
    `${Math.round(from * scale)} ${and} ${Math.round(to * scale)} ${symbol}`;
  if (ranges.length === 0) return `Nowhere along ${axis.replace("-", " ")} is its band clear of zero.`;
  const found = ranges.map(
    ({from, to, clear_from, clear_to, mean, p}) =>
      `between ${edges(clear_from, clear_to, "and")} (adjusted p ${printP(p)}); the difference is estimated to reach from ${edges(from, to, "to")}, with ${printDifference(mean, unit, primary)} on average`,
  );
  return `Along ${axis.replace("-", " ")} the band is clear of zero ${found.join(", and ")}.`;
}

function timeWords({band_time: {estimate, interval}}: ChannelDraft): string {
  if (estimate === null || interval === null) return "";
  const seconds = (value: number) => `${value < 0 ? "−" : "+"}${Math.abs(value).toFixed(3)} s`;
  const span = `${seconds(estimate)} (${seconds(interval.low)} to ${seconds(interval.high)})`;
  return isClear(interval)
    ? `The stopwatch shows a difference too: ${span}.`
    : `The stopwatch shows no difference that stands out: ${span}.`;
}

function nextWords(
  {carry_over, effect}: ChannelDraft,
  {isShown, causes}: {isShown: boolean; causes: string},
): string {
  if (effect.interval === null) return "Drive at least three runs of each arm, in an order drawn by lot.";
  if (carry_over.outcome === "failed")
    return "Engine control was still learning after each change: drive two runs that do not count after it.";
  if (isShown && causes !== "")
    return `Repeat with ${causes} brought to the same value before each run: if the difference stays, it is not theirs.`;
  if (isShown)
    return "Repeat on another day with an order of its own: one afternoon has one weather and one tank of fuel.";
  return "More runs narrow the interval; it shrinks with the square root of their number.";
}

function isClear(interval: {low: number; high: number} | null): boolean {
  return interval !== null && (interval.low > 0 || interval.high < 0);
}
