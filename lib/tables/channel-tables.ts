import {type Table, table} from "../figures/table.ts";
import type {ChannelDocument} from "../result/channel-document.ts";
import {channelName, printDifference, printP, printSpan, threeDigits} from "../units/shown.ts";

/** Conditions of both arms: how much they differ, and what that would explain of the channel asked about. */
export function conditionsTable({conditions, primary, unit, survey}: ChannelDocument): Table {
  const level = Number((100 * survey.level).toFixed(3));
  return table({
    id: "conditions",
    caption: `Were the arms under the same conditions? Differences are changed − baseline with their ${level} % interval. “Explains” is the difference times the slope of ${channelName(primary)} among runs of one arm, where the runs are enough to measure one.`,
    columns: [{title: "condition"}, {title: "difference"}, {title: "explains"}, {title: "found"}],
    rows: conditions.map(({name, unit: own, difference, interval, explains, explains_interval, matched}) => [
      channelName(name),
      difference === null
        ? null
        : interval
          ? printSpan(difference, interval, {unit: own, name})
          : printDifference(difference, own, name),
      explains === null
        ? null
        : explains_interval
          ? printSpan(explains, explains_interval, {unit, name: primary})
          : printDifference(explains, unit, primary),
      matched === null ? "cannot be told" : matched ? "the same, as far as told" : "not the same",
    ]),
  });
}

/** How each engine log lies to its speed log. */
export function pairingsTable({pairings}: ChannelDocument): Table | null {
  if (pairings.length === 0) return null;
  const hasRate = pairings.some(({clock_rate}) => clock_rate !== null);
  return table({
    id: "pairings",
    caption:
      "How each engine log lies to its speed log, by laying one speed over the other. The scale is the speed log's speed over the engine log's: away from 1 for worn tyres, or tyres of another size. Uncertainties are standard ones.",
    columns: [
      {title: "engine log"},
      {title: "runs"},
      {title: "lag", unit: "s", align: "right"},
      {title: "scale", align: "right"},
      ...(hasRate ? [{title: "clock rate", unit: "1e-6", align: "right" as const}] : []),
      {title: "correlation", align: "right"},
    ],
    rows: pairings.map(
      ({engine, runs, lag_s, lag_u_s, scale, scale_u, clock_rate, clock_rate_u, correlation}) => [
        engine,
        runs.join(", "),
        `${lag_s.toFixed(3).replace("-", "−")} ± ${lag_u_s.toFixed(3)}`,
        `${scale.toFixed(4)} ± ${scale_u.toFixed(4)}`,
        ...(hasRate
          ? [
              clock_rate === null
                ? null
                : `${(1e6 * clock_rate).toFixed(0).replace("-", "−")} ± ${(1e6 * (clock_rate_u ?? 0)).toFixed(0)}`,
            ]
          : []),
        correlation.toFixed(5),
      ],
    ),
  });
}

/** Every channel of the survey with its difference, and what was left out with the reason. */
export function surveyTable({survey}: ChannelDocument): Table {
  return table({
    id: "survey",
    caption: `All ${survey.looked} channels that were looked at, largest difference first, and those left out. The interval of a difference and p alone are those of one channel by itself; p adjusted is adjusted for their number by ${survey.method}.`,
    columns: [
      {title: "channel"},
      {title: "difference"},
      {title: "spreads", align: "right"},
      {title: "p alone", align: "right"},
      {title: "p adjusted", align: "right"},
      {title: "found"},
    ],
    rows: [
      ...survey.channels.map(({channel, unit, estimate, interval, size, p, adjusted_p, differs}) => [
        channelName(channel),
        printSpan(estimate, interval, {unit, name: channel}),
        threeDigits(size).replace("-", "−"),
        printP(p),
        printP(adjusted_p),
        differs ? "differs" : "not shown to differ",
      ]),
      ...survey.left_out.map(({name, reason}) => [
        channelName(name),
        null,
        null,
        null,
        null,
        `left out: ${reason}`,
      ]),
    ],
  });
}
