import {type Check, type CheckContext, doubtful, held, notCheckable} from "./check.ts";
import type {PaceLoss} from "./pace.ts";
import {channelInPass, type RunView} from "./run-view.ts";
import {speedWords} from "./words.ts";

/** A brake reads more than this share of the way from its lowest to its highest value when it is on. */
const BRAKE_ON = 0.2;
/** At entry a spinning tyre or a late charge still pulls with most of its force; who takes half as long again has lifted or waited. */
const LIFTED_SHARE = 0.5;

/** "run 3 loses 0.31 s between 78 and 84 km/h (95 % of its time there)". */
export function lossWords({view, fromMps, toMps, lostS, share}: PaceLoss, {day}: CheckContext): string {
  const {band} = day.session;
  return `run ${view.run} loses ${lostS.toFixed(2)} s between ${speedWords(fromMps, band)} and ${speedWords(toMps, band)} (${(100 * share).toFixed(0)} % more than at its pace elsewhere)`;
}

export const liftCheck: Check = {
  name: "no lift or brake inside",
  rule: "the brake is off, and no part of the band takes a run much longer than its own pace elsewhere lets expect from the other runs",
  threshold:
    "8 % and 0.05 s of a part of the band, and 4.8 robust standard deviations of the day's runs (3.4 at entry)",
  judge(context) {
    const {used, pace} = context;
    const braked = used.filter(brakeIsOn);
    const losses = pace?.losses.filter(loss => !loss.atEntry || loss.sharpest > LIFTED_SHARE) ?? [];
    const words = [
      ...braked.map(view => `the brake of run ${view.run} is on within the band`),
      ...losses.map(loss => lossWords(loss, context)),
    ];
    if (words.length > 0) return doubtful(`a lift, a brake or a gear change: ${words.join("; ")}`);
    if (!pace) return notCheckable("at least three runs are needed to hold the course of each against");
    return held(
      `no run loses time in one part of the band (a loss of ${(100 * pace.smallestShare).toFixed(0)} % over 0.4 s would show)`,
    );
  },
};

function brakeIsOn(view: RunView): boolean {
  const inPass = channelInPass(view, "brake") ?? channelInPass(view, "brake-pressure");
  if (!inPass) return false;
  const name = channelInPass(view, "brake") ? "brake" : "brake-pressure";
  const all = view.loaded.log.channels.find(channel => channel.name === name)!.values;
  let [low, high] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const value of all) {
    if (value < low) low = value;
    if (value > high) high = value;
  }
  if (!(high > low)) return false;
  const on = inPass.values.filter(value => value > low + BRAKE_ON * (high - low)).length;
  return on >= 2 || (on === 1 && inPass.values.length < 30);
}
