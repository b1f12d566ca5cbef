import type {ChannelDocument} from "../result/channel-document.ts";
import type {CoastdownDocument, LoadTerm} from "../result/coastdown-document.ts";
import type {IntervalRecord} from "../result/documents.ts";
import type {RepeatabilityDocument} from "../result/repeatability-document.ts";
import type {ResultDocument} from "../result/result-document.ts";
import type {TestReport} from "../result/test-report.ts";
import {channelName, printSpan} from "../units/shown.ts";
import {STANDARD_GRAVITY_MPS2} from "../units/table.ts";
import {
  checkWords,
  digitsFor,
  effectWords,
  excludedWords,
  intervalWords,
  percent,
  stateWords,
  verdictCard,
} from "./card.ts";
import {escapeHtml, numberText} from "./html.ts";

/** A result in one line. */
export interface Headline {
  /** for scripts; results of one key belong together in a list */
  key: string;
  state: string;
  /** null where there is none */
  numbers: string | null;
}

const COASTDOWN_STATES: Record<CoastdownDocument["state"], string> = {
  found: "Road load found",
  "in-doubt": "Road load in doubt",
  "too-few-runs": "Too few runs",
};

/** State and numbers of a result: "Shown better", "−0.142 s (−2.7 %), interval −0.2 to −0.1 s, 95 %". */
export function headline(result: ResultDocument): Headline {
  if (result.test === "comparison") {
    const numbers = [effectWords(result), intervalWords(result)].filter(words => words !== null);
    return {
      key: result.verdict.state,
      state: stateWords(result.verdict.state),
      numbers: numbers.length ? numbers.join(", interval ") : null,
    };
  }
  if (result.test === "coastdown") {
    const {area, rolling} = dragAndRolling(result);
    const numbers = `CdA ${spanWords(area, 3, "m²")}, Crr ${spanWords(rolling, 5)}`;
    const key = result.state === "too-few-runs" ? result.state : `road-load-${result.state}`;
    return {key, state: COASTDOWN_STATES[result.state], numbers};
  }
  if (result.test === "channels") return channelHeadline(result);
  const {sd, sd_percent, sd_interval} = result.repeatability;
  if (sd === null) return {key: "too-few-runs", state: "Too few runs", numbers: null};
  const digits = digitsFor(sd);
  const share = sd_percent === null ? "" : ` (${numberText(sd_percent, 1)} %)`;
  const interval =
    sd_interval === null
      ? ""
      : `, interval ${rangeWords(sd_interval, digits)} ${result.unit}, ${percent(sd_interval.level)}`;
  return {
    key: "spread-found",
    state: "Spread of identical runs",
    numbers: `${numberText(sd, digits)} ${result.unit}${share}${interval}`,
  };
}

/** The card at the top of a page, for every kind of result. */
export function cardOf(result: ResultDocument, report: TestReport | null): string {
  if (result.test === "comparison") return verdictCard(result, report);
  const {state} = headline(result);
  const rows =
    result.test === "coastdown"
      ? coastdownRows(result)
      : result.test === "channels"
        ? channelRows(result)
        : repeatabilityRows(result);
  return (
    `<section class="verdict" id="verdict" aria-labelledby="verdict-question">` +
    `<h2 id="verdict-question">${escapeHtml(result.question)}</h2>` +
    `<p class="state">${state}</p><p class="words">${escapeHtml(result.words)}</p><dl>` +
    rows
      .filter(([, words]) => words !== null)
      .map(([label, words]) => `<div><dt>${label}</dt><dd>${escapeHtml(words!)}</dd></div>`)
      .join("") +
    "</dl></section>"
  );
}

/** How many runs were used, in words that fit the kind of test. */
export function usedWords(result: ResultDocument): string {
  if (result.test === "comparison" || result.test === "channels") {
    const {baseline, changed} = result.arms;
    return `${baseline.n} runs with ${baseline.label}, ${changed.n} with ${changed.label}; ${result.excluded.length} left out`;
  }
  if (result.test === "repeatability")
    return `${result.repeatability.n} runs of ${result.car}; ${result.excluded.length} left out`;
  const used = result.runs.filter(run => run.used);
  const ways = (["out", "back"] as const).map(
    way => `${used.filter(run => run.direction === way).length} ${way}`,
  );
  return `${used.length} coastdowns, ${ways.join(" and ")}; ${result.runs.length - used.length} left out`;
}

function channelHeadline({effect, curves, primary, unit}: ChannelDocument): Headline {
  if (effect.estimate === null || effect.interval === null)
    return {key: "too-few-runs", state: "Too few runs", numbers: null};
  const {low, high, level} = effect.interval;
  const isShown = low > 0 || high < 0 || (curves?.ranges.length ?? 0) > 0;
  return {
    key: isShown ? "channel-differs" : "channel-not-shown",
    state: `${isShown ? "Differs" : "Not shown to differ"}: ${channelName(primary)}`,
    numbers: `mean within the band ${printSpan(effect.estimate, effect.interval, {unit, name: primary})}, ${percent(level)}`,
  };
}

function channelRows(result: ChannelDocument): [string, string | null][] {
  const {survey, conditions, carry_over, power, checks} = result;
  const moved = survey.channels.filter(({differs}) => differs).map(({channel}) => channelName(channel));
  const unlike = conditions.filter(({matched}) => matched === false).map(({name}) => channelName(name));
  return [
    [
      "Mean",
      result.effect.estimate === null || result.effect.interval === null
        ? null
        : printSpan(result.effect.estimate, result.effect.interval, {
            unit: result.unit,
            name: result.primary,
          }),
    ],
    [
      "Survey",
      `${survey.looked} channels looked at; after adjustment ${moved.length ? `these differ: ${moved.join(", ")}` : "none differs"}`,
    ],
    ["Conditions", unlike.length ? `not the same: ${unlike.join(", ")}` : "none is shown to differ"],
    ["Learning", carry_over.words],
    ["Power", power && power.words],
    ["Runs", usedWords(result)],
    ["Left out", excludedWords(result)],
    ["Checks", checkWords(checks)],
    ["Not said", result.silent],
    ["Next", result.next],
  ];
}

function coastdownRows(result: CoastdownDocument): [string, string | null][] {
  const {forces, reference, wind, grade, runs, checks, mass, air} = result;
  const {area, rolling} = dragAndRolling(result);
  const method = area.interval && `${percent(area.interval.level)} by ${area.interval.method}`;
  const unused = runs.filter(run => !run.used);
  return [
    ["Drag", `CdA ${spanWords(area, 3, "m²")}`],
    ["Rolling", `Crr ${spanWords(rolling, 5)}`],
    [
      "Force",
      forces.length
        ? forces
            .map(
              force =>
                `${numberText(force.estimate, 0)} N${force.interval ? ` (${rangeWords(force.interval, 0)})` : ""} at ${numberText(3.6 * force.speed_mps, 0)} km/h`,
            )
            .join(", ")
        : null,
    ],
    ["Intervals", method],
    [
      "Air, mass",
      `${numberText(air.density_kg_m3, 3)} kg/m³, ${numberText(mass.mass_kg, 0)} kg (${numberText(mass.effective_kg, 0)} kg with turning parts: ${mass.source})${air.assumed.length ? `; assumed: ${air.assumed.join(", ")}` : ""}`,
    ],
    [
      "Brought to",
      `${reference.words}: F0 ${numberText(reference.f0_n, 1)} N, F2 ${numberText(reference.f2_n_per_mps2, 4)} N/(m/s)²`,
    ],
    ["Wind, slope", wind && windWords(wind, grade)],
    ["Runs", usedWords(result)],
    [
      "Left out",
      unused.length ? unused.map(({run, problem}) => `run ${run}: ${problem}`).join("; ") : "no run",
    ],
    ["Doubted", doubtWords(runs)],
    ["Checks", checkWords(checks)],
    ["Not said", result.silent],
    ["Next", result.next],
  ];
}

/** Runs that were used and are in doubt, the first with its reason; null where there is none. */
function doubtWords(runs: CoastdownDocument["runs"]): string | null {
  const [first, ...others] = runs.filter(({used, problem}) => used && problem !== null);
  if (!first) return null;
  const more = others.length ? `; also ${others.map(({run}) => `run ${run}`).join(", ")}` : "";
  return `run ${first.run}: ${first.problem}${more}`;
}

function windWords(wind: NonNullable<CoastdownDocument["wind"]>, grade: CoastdownDocument["grade"]): string {
  const size = `${numberText(Math.abs(wind.headwind_out_mps), 1)} m/s ${wind.headwind_out_mps < 0 ? "with" : "against"} the car on the way out${wind.stated ? ", as stated" : ""}`;
  const slope = grade === null ? "" : `; slope ${numberText(100 * grade.out, 2, true)} % on the way out`;
  return `${size}${slope}; both directions take them out of the terms`;
}

function repeatabilityRows(result: RepeatabilityDocument): [string, string | null][] {
  const {unit, repeatability, reach, worthwhile, checks} = result;
  const {mean, sd, limit, drift} = repeatability;
  const {numbers} = headline(result);
  const digits = digitsFor(sd ?? mean);
  return [
    ["One run", numbers && `spread ${numbers}`],
    [
      "Two runs",
      limit === null ? null : `differ by less than ${numberText(limit, digits)} ${unit} 95 times in 100`,
    ],
    [
      "Drift",
      drift === null
        ? null
        : `${numberText(drift.per_run, digits, true)} ${unit} a run${drift.interval ? ` (${rangeWords(drift.interval, digits)})` : ""}`,
    ],
    [
      "Can show",
      reach.length
        ? reach
            .map(
              ({order, runs, smallest}) =>
                `${numberText(smallest, digits)} ${unit} with ${runs} runs (${order})`,
            )
            .join(", ")
        : null,
    ],
    ["Worth having", `${worthwhile.value} ${worthwhile.unit}`],
    ["Runs", usedWords(result)],
    ["Left out", excludedWords(result)],
    ["Checks", checkWords(checks)],
    ["Not said", result.silent],
    ["Next", result.next],
  ];
}

/** Both terms in the form people compare, with the intervals of F2 and F0. */
function dragAndRolling({terms, air, mass}: CoastdownDocument): Record<"area" | "rolling", Span> {
  const scaled = (name: LoadTerm["name"], by: number): Span => {
    const {estimate, interval} = terms.find(term => term.name === name)!;
    return {
      estimate: estimate * by,
      interval: interval && {...interval, low: interval.low * by, high: interval.high * by},
    };
  };
  return {
    area: scaled("F2", 2 / air.density_kg_m3),
    rolling: scaled("F0", 1 / (mass.mass_kg * STANDARD_GRAVITY_MPS2)),
  };
}

interface Span {
  estimate: number;
  interval: IntervalRecord | null;
}

/** "0.647 m² (0.621 to 0.672)". */
function spanWords({estimate, interval}: Span, digits: number, unit = ""): string {
  const value = `${numberText(estimate, digits)}${unit && ` ${unit}`}`;
  return interval ? `${value} (${rangeWords(interval, digits)})` : value;
}

function rangeWords({low, high}: IntervalRecord, digits: number): string {
  return `${numberText(low, digits)} to ${numberText(high, digits)}`;
}
