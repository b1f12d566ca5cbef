import {DISPLAY, type Displayed, escapeHtml, INSPECT} from "../figures/display.ts";
import {digitsOf} from "../figures/look.ts";
import type {ResultDocument} from "../result/result-document.ts";
import {answerLines} from "./answer-lines.ts";
import {excludedWords, signed} from "./words.ts";

/** MIME type under which a result document travels in a notebook. */
export const RESULT_MIME = "application/vnd.fairpull.result+json";

/**
 * The verdict for a notebook: question, state in words, estimate with interval, runs used, what it does not say,
 * seed, versions and checksums of the inputs. Identical runs and coastdowns have an answer in place of a verdict.
 * Its bundle carries the whole document for the published page.
 */
export function verdictCard(result: ResultDocument): VerdictCard {
  const text = cardText(result);
  return {
    document: result,
    [DISPLAY]: () => ({[RESULT_MIME]: result, "text/html": cardHtml(result), "text/plain": text}),
    [INSPECT]: () => text,
  };
}

/** A result document that shows itself as its verdict. */
export interface VerdictCard extends Displayed {
  document: ResultDocument;
}

/** The verdict as lines of text. */
export function cardText(result: ResultDocument): string {
  return [...cardLines(result), ...provenanceLines(result)]
    .map(([label, words]) => `${label}: ${words}`)
    .join("\n");
}

/** The lines of a verdict, label and words, in the order they are read. */
export function cardLines(result: ResultDocument): [label: string, words: string][] {
  if (result.test !== "comparison") return answerLines(result);
  const {effect, arms, unit} = result;
  const digits = digitsOf(unit);
  const lines: [string, string][] = [
    ["Question", result.question],
    ["Verdict", result.verdict.words],
  ];
  if (effect.estimate !== null) {
    const share = effect.percent === null ? "" : ` (${signed(effect.percent, 1)} % of the baseline mean)`;
    lines.push([
      "Difference",
      `${signed(effect.estimate, digits)} ${unit}${share}, ${arms.changed.label} − ${arms.baseline.label}`,
    ]);
  }
  if (effect.interval) {
    const {low, high, level, method} = effect.interval;
    lines.push([
      "Interval",
      `${signed(low, digits)} to ${signed(high, digits)} ${unit} at ${100 * level} % by ${method}`,
    ]);
  }
  const {correction} = result;
  if (correction) {
    lines.push(["As driven", correction.words.raw], ["Correction", correction.words.size]);
    if (correction.warnings.length > 0) lines.push(["Warning", correction.warnings.join("; ")]);
  }
  const other = effect.beside.find(({name}) => name === "fittings" || name === "runs");
  if (other?.interval) {
    const {low, high, method} = other.interval;
    lines.push([
      "Beside it",
      `${signed(low, digits)} to ${signed(high, digits)} ${unit} by ${method}: ${other.words}`,
    ]);
  }
  if (result.permutation) lines.push(["By lot", result.permutation.words]);
  lines.push([
    "Runs",
    `${arms.baseline.n} with ${arms.baseline.label}, ${arms.changed.n} with ${arms.changed.label}; ${result.fittings.words}; ${excludedWords(result)}`,
  ]);
  lines.push(["Not said", result.verdict.silent], ["Next", result.verdict.next]);
  return lines;
}

/** Seed, versions and checksums: what it takes to get the same numbers again. */
export function provenanceLines(result: ResultDocument): [label: string, words: string][] {
  return [
    ["Seed", String(result.seed)],
    [
      "Versions",
      Object.entries(result.versions)
        .map(([name, version]) => `${name} ${version}`)
        .join(", "),
    ],
    ["Data", result.inputs.map(input => `${input.file} ${input.sha256.slice(0, 12)}`).join(", ")],
  ];
}

function cardHtml(result: ResultDocument): string {
  const rows = [...cardLines(result), ...provenanceLines(result)]
    .map(
      ([label, words]) =>
        `<tr><th scope="row" style="text-align:left;vertical-align:top">${label}</th><td style="text-align:left">${escapeHtml(words)}</td></tr>`,
    )
    .join("");
  const caption =
    result.test === "comparison" ? `Verdict: ${result.verdict.state.replaceAll("-", " ")}` : "Answer";
  return `<table><caption>${caption}</caption><tbody>${rows}</tbody></table>`;
}
