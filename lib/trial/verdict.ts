import type {CheckRecord, VerdictRecord, VerdictSize, VerdictState} from "../result/documents.ts";
import {type Better, type DecideInput, type Decision, decide} from "./decide.ts";
import type {Further, Open} from "./further-runs.ts";
import type {Look} from "./looks.ts";

export type {Better};

/** What a verdict is drawn from and worded with. Every number is in the unit of the primary measure. */
export interface VerdictInput extends DecideInput {
  /** a number with its unit, for the words */
  print: (value: number) => string;
  /** label of the changed arm */
  changed: string;
  /** the primary measure in words: "the band time" */
  measure: string;
  /** what would settle it; asked only when there is an interval and the answer, or its size, is open */
  settle: (open: Open) => {words: string; further: Further | null};
  /** the state with every excluded run put back that has a value, default null = none can be */
  putBack?: {runs: readonly number[]; state: VerdictState} | null;
  /** which look this is; one that was not planned is named. Default null = the only one */
  look?: Look | null;
}

/** What no verdict says, by state. */
const SILENT: Record<VerdictState, string> = {
  "too-few-runs": "It does not say that the part does nothing.",
  "not-a-fair-test":
    "It does not say that the part does nothing, nor that the figures are wrong: only that they may have another cause.",
  "shown-better": "It does not say why, nor that another day, car or road would show the same.",
  "shown-worse": "It does not say why, nor that another day, car or road would show the same.",
  "shown-different": "It does not say why, nor that another day, car or road would show the same.",
  "no-worthwhile-difference": "It does not say that there is no difference at all.",
  "not-settled": "It does not say that there is no difference.",
};

/**
 * The verdict of `decide` in words: what was shown, what was not, what would settle it, what it does not say, and whether it hangs on the runs
 * that were left out.
 */
export function verdict(input: VerdictInput): VerdictRecord {
  const {state, size} = decide(input);
  const open: Open | null =
    state === "not-settled" ? "difference" : size === "open" && input.worthwhile !== null ? "size" : null;
  const settle = open && input.settle(open);
  const further = settle?.further ?? null;
  const fragile = fragileWords(state, input.putBack ?? null);
  return {
    state,
    size,
    words: [stateWords({state, size}, input), fragile, peekWords(input.look ?? null)]
      .filter(words => words !== null)
      .join(" "),
    next: nextWords({state, size}, input, settle?.words ?? ""),
    silent: SILENT[state],
    fragile,
    further: further && {
      kind: further.kind,
      runs: further.runs,
      likely_runs: further.likelyRuns,
      chance: further.chance,
    },
  };
}

function stateWords({state, size}: Decision, input: VerdictInput): string {
  const {estimate, interval, equivalenceInterval: narrow, worthwhile, changed, measure, print} = input;
  switch (state) {
    case "too-few-runs":
      return `Too few runs for an interval: ${input.tooFew ?? "no estimate could be made"}. Nothing can be said about ${changed}.`;
    case "not-a-fair-test":
      return `Not a fair test: ${failedOf(input)
        .map(check => check.words)
        .join("; ")}. The figures are shown, but they cannot be put down to ${changed}.`;
    case "no-worthwhile-difference":
      return `No worthwhile difference: with ${changed}, ${measure} differs by less than ${print(worthwhile!)} either way (${percent(narrow!.level)} interval ${print(narrow!.low)} to ${print(narrow!.high)}). A smaller difference is not excluded.`;
    case "not-settled":
      return `Not settled: the data agree with no difference and with one of up to ${print(Math.max(Math.abs(interval!.low), Math.abs(interval!.high)))} (${rangeWords(input)}). That is not "no difference".`;
    default:
      return `${shownWords(state, input)} by ${print(Math.abs(estimate!))} (${rangeWords(input)}); ${sizeWords(size!, input)}.`;
  }
}

function nextWords({state, size}: Decision, input: VerdictInput, settle: string): string {
  const failed = failedOf(input);
  switch (state) {
    case "too-few-runs":
      return `Drive more runs of both arms in an order drawn by lot${failed.length ? `, and mend first: ${names(failed)}` : ""}.`;
    case "not-a-fair-test":
      return "Plan the next day so that this cannot happen; no arithmetic repairs it afterwards.";
    case "no-worthwhile-difference":
      return "Nothing more to drive for this question, unless a smaller difference matters than the one declared.";
    case "not-settled":
      return settle;
    default:
      return size === "open"
        ? `Whether that is worthwhile is open. ${settle}`
        : "Repeat on another day before building on it: one day cannot tell the part from what else was special about that day.";
  }
}

function fragileWords(
  state: VerdictState,
  putBack: NonNullable<VerdictInput["putBack"]> | null,
): string | null {
  if (!putBack || state === "not-a-fair-test" || putBack.state === state) return null;
  const {runs} = putBack;
  const which = runs.length === 1 ? `the excluded run ${runs[0]}` : `the excluded runs ${runs.join(", ")}`;
  return `This hangs on what was left out: with ${which} put back the verdict would be "${putBack.state.replaceAll("-", " ")}".`;
}

/** Looks that were not planned are called so where the verdict is read. */
function peekWords(look: Look | null): string | null {
  if (look?.kind !== "grown" && look?.kind !== "between") return null;
  return `Judged after ${look.runs} runs, where the plan has its ${look.plannedAt.length === 1 ? "look" : "looks"} after ${look.plannedAt.join(", ")}: a look that was not planned, and the interval is widened for it.`;
}

function failedOf({checks}: VerdictInput): CheckRecord[] {
  return checks.filter(check => check.outcome === "failed");
}

function rangeWords({interval, print}: VerdictInput): string {
  const {low, high, level} = interval!;
  return `${percent(level)} interval ${print(low)} to ${print(high)}`;
}

function shownWords(state: VerdictState, {changed, measure, better}: VerdictInput): string {
  if (state === "shown-different") return `Shown different: with ${changed}, ${measure} differs`;
  const lower = (state === "shown-better") === (better === "lower");
  const word = state === "shown-better" ? "better" : "worse";
  return `Shown ${word}: with ${changed}, ${measure} is ${lower ? "lower" : "higher"}`;
}

function sizeWords(size: VerdictSize, {worthwhile, print}: VerdictInput): string {
  if (worthwhile === null) return "no worthwhile difference could be applied";
  const mark = print(worthwhile);
  switch (size) {
    case "at-least-worthwhile":
      return `at least the worthwhile ${mark}`;
    case "below-worthwhile":
      return `a difference, but less than the worthwhile ${mark}`;
    case "open":
      return `whether it reaches the worthwhile ${mark} is open`;
  }
}

function names(checks: readonly CheckRecord[]): string {
  return checks.map(check => check.name).join(", ");
}

function percent(level: number): string {
  return `${Number((100 * level).toFixed(3))} %`;
}
