import type {Output} from "../notebook/notebook.ts";
import type {CheckRecord, JudgeDocument, VerdictState} from "../result/documents.ts";
import type {ResultDocument} from "../result/result-document.ts";
import type {TestReport} from "../result/test-report.ts";
import {escapeHtml, numberText} from "./html.ts";
import {type EffectShown, intervalPicture} from "./interval-picture.ts";

/** MIME type under which a result document travels in a notebook. */
export const RESULT_MIME = "application/vnd.fairpull.result+json";

/** Kinds of test that have a card; results of other kinds show themselves. */
const WITH_CARD: readonly string[] = [
  "comparison",
  "repeatability",
  "coastdown",
  "channels",
] satisfies ResultDocument["test"][];

/** The result that an output carries, or null. */
export function resultIn(output: Output): ResultDocument | null {
  const result =
    "data" in output ? (output.data[RESULT_MIME] as Partial<ResultDocument> | undefined) : undefined;
  return result?.format === "fairpull.judge/1" && WITH_CARD.includes(result.test ?? "")
    ? (result as ResultDocument)
    : null;
}

const STATE_WORDS: Record<VerdictState, string> = {
  "shown-better": "Shown better",
  "shown-worse": "Shown worse",
  "shown-different": "Shown different",
  "no-worthwhile-difference": "No worthwhile difference",
  "not-settled": "Not settled",
  "not-a-fair-test": "Not a fair test",
  "too-few-runs": "Too few runs",
};

/** The state of a verdict in words. */
export function stateWords(state: VerdictState): string {
  return STATE_WORDS[state];
}

/** The effect with its unit, or null where there is none: "−0.142 s (−2.7 %)". */
export function effectWords({effect}: JudgeDocument): string | null {
  if (effect.estimate === null) return null;
  const share = effect.percent === null ? "" : ` (${numberText(effect.percent, 1, true)} %)`;
  return `${numberText(effect.estimate, digitsFor(effect.estimate), true)} ${effect.unit}${share}`;
}

/** The interval with its level, or null where there is none: "−0.2 to +0.1 s, 95 %". */
export function intervalWords({effect}: JudgeDocument): string | null {
  if (effect.interval === null) return null;
  const {low, high, level} = effect.interval;
  const digits = digitsFor(effect.estimate ?? low);
  return `${numberText(low, digits, true)} to ${numberText(high, digits, true)} ${effect.unit}, ${percent(level)}`;
}

/** The verdict of a notebook as the top of its page. */
export function verdictCard(document: JudgeDocument, report: TestReport | null = null): string {
  const {effect, verdict, worthwhile, arms} = document;
  const difference = `${arms.changed.label} − ${arms.baseline.label}`; // letters, where the labels are sealed
  const rows: [string, string | null][] = [
    ["Difference", withNote(effectWords(document), difference)],
    ["Interval", withNote(intervalWords(document), effect.interval?.method)],
    ["As driven", document.correction?.words.raw ?? null],
    ["Correction", document.correction?.words.size ?? null],
    ["Warning", warningWords(document)],
    ["By lot", document.permutation?.words ?? null],
    ["Worth having", `±${worthwhile.value} ${worthwhile.unit} or more, as the session declares`],
    ["Runs", runWords(document)],
    ["Left out", excludedWords(document)],
    ["Planned, blind", report && `${report.planned.words}; ${report.blind}`],
    ["Checks", checkWords(document.checks)],
    ["Looks", lookWords(document)],
    ["Hangs on", verdict.fragile],
    ["Not said", verdict.silent],
    ["Next", verdict.next],
  ];
  const legend = `${difference[0]!.toUpperCase()}${difference.slice(1)}${worthwhile.in_primary_unit === null ? "" : "; shaded: differences too small to be worth having"}.`;
  const shown = effectShown(document);
  const picture =
    shown === null ? "" : `${intervalPicture(shown)}<p class="legend">${escapeHtml(legend)}</p>`;
  return (
    `<section class="verdict" id="verdict" aria-labelledby="verdict-question">` +
    `<h2 id="verdict-question">${escapeHtml(document.question)}</h2>` +
    `<p class="state">${stateWords(verdict.state)}</p>` +
    `<p class="words">${escapeHtml(wordsAfterState(document))}</p>${picture}<dl>` +
    rows
      .filter(([, words]) => words !== null)
      .map(([label, words]) => `<div><dt>${label}</dt><dd>${escapeHtml(words!)}</dd></div>`)
      .join("") +
    "</dl></section>"
  );
}

/** What the picture of the effect shows, or null where there is no interval. */
export function effectShown({effect, worthwhile}: JudgeDocument): EffectShown | null {
  if (effect.estimate === null || effect.interval === null) return null;
  return {
    estimate: effect.estimate,
    low: effect.interval.low,
    high: effect.interval.high,
    worthwhile: worthwhile.in_primary_unit,
    unit: effect.unit,
    digits: digitsFor(effect.estimate),
  };
}

/** The verdict's sentence without the state that stands above it. */
function wordsAfterState({verdict}: JudgeDocument): string {
  const {words} = verdict;
  const start = `${stateWords(verdict.state)}: `;
  return words.startsWith(start) ? words[start.length]!.toUpperCase() + words.slice(start.length + 1) : words;
}

function withNote(words: string | null, note: string | undefined): string | null {
  return words === null || note === undefined ? words : `${words}; ${note}`;
}

function runWords({arms, fittings}: JudgeDocument): string {
  const {baseline, changed} = arms;
  return `${baseline.n} with ${baseline.label}, ${changed.n} with ${changed.label}; ${fittings.words}`;
}

/** Which runs were left out, and why. */
export function excludedWords({excluded}: {excluded: readonly {run: number; reason: string}[]}): string {
  if (excluded.length === 0) return "no run";
  return excluded.map(({run, reason}) => `run ${run}: ${reason}`).join("; ");
}

/** What a reader of a corrected answer has to know before he believes it, or null. */
function warningWords({correction}: JudgeDocument): string | null {
  return correction && correction.warnings.length > 0 ? correction.warnings.join("; ") : null;
}

/** How many checks held, and the names of those that did not; null where there was none. */
export function checkWords(checks: readonly CheckRecord[]): string | null {
  if (checks.length === 0) return null;
  const of = (outcome: CheckRecord["outcome"]) =>
    checks.filter(check => check.outcome === outcome).map(({name}) => name.replaceAll("-", " "));
  const named = (["failed", "doubtful", "not-checkable"] as const).flatMap(outcome => {
    const names = of(outcome);
    return names.length === 0 ? [] : [`${outcome.replaceAll("-", " ")}: ${names.join(", ")}`];
  });
  return [`${of("held").length} of ${checks.length} held`, ...named].join("; ");
}

/** Chance of a false alarm by looking more than once; null where it is no larger than the level says. */
function lookWords({look}: JudgeDocument): string | null {
  if (look.false_alarm === null) return null;
  return `look ${look.look} at ${look.runs} runs; looking so often shows a difference that is not there on ${percent(Number(look.false_alarm.toPrecision(2)))} of days`;
}

/** A share in per cent: "95 %". */
export function percent(level: number): string {
  return `${Number((100 * level).toFixed(3))} %`;
}

/** Digits after the point that show about three figures of a number of this size. */
export function digitsFor(value: number): number {
  const size = Math.abs(value);
  return size >= 100 ? 0 : size >= 10 ? 1 : size >= 1 ? 2 : 3;
}
