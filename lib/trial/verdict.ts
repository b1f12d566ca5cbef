import type {CheckRecord, VerdictRecord, VerdictSize, VerdictState} from "../result/documents.ts";
import {type Better, type DecideInput, decide} from "./decide.ts";

export type {Better};

/** What a verdict is drawn from and worded with. Every number is in the unit of the primary measure. */
export interface VerdictInput extends DecideInput {
  /** a number with its unit, for the words */
  print: (value: number) => string;
  /** label of the changed arm */
  changed: string;
  /** the primary measure in words: "the band time" */
  measure: string;
  /** what would settle it, in words; asked only when there is an interval and the answer, or its size, is open */
  settle: (open: "difference" | "size") => string;
}

/**
 * The verdict of `decide` in words: what was shown, what was not, and what would settle it.
 */
export function verdict(input: VerdictInput): VerdictRecord {
  const {tooFew, estimate, interval, checks, equivalenceInterval: narrow} = input;
  const {state, size} = decide(input);
  const failed = checks.filter(check => check.outcome === "failed");
  if (state === "too-few-runs") {
    return {
      state,
      size,
      words: `Too few runs for an interval: ${tooFew ?? "no estimate could be made"}. Nothing can be said about ${input.changed}.`,
      next: `Drive more runs of both arms in an order drawn by lot${failed.length ? `, and mend first: ${names(failed)}` : ""}.`,
    };
  }
  if (state === "not-a-fair-test") {
    return {
      state,
      size,
      words: `Not a fair test: ${failed.map(check => check.words).join("; ")}. The figures are shown, but they cannot be put down to ${input.changed}.`,
      next: "Plan the next day so that this cannot happen; no arithmetic repairs it afterwards.",
    };
  }
  const {low, high, level} = interval!;
  const range = `${percent(level)} interval ${input.print(low)} to ${input.print(high)}`;
  if (state === "no-worthwhile-difference") {
    return {
      state,
      size,
      words: `No worthwhile difference: with ${input.changed}, ${input.measure} differs by less than ${input.print(input.worthwhile!)} either way (${percent(narrow!.level)} interval ${input.print(narrow!.low)} to ${input.print(narrow!.high)}). A smaller difference is not excluded.`,
      next: "Nothing more to drive for this question, unless a smaller difference matters than the one declared.",
    };
  }
  if (state === "not-settled") {
    return {
      state,
      size,
      words: `Not settled: the data agree with no difference and with one of up to ${input.print(Math.max(Math.abs(low), Math.abs(high)))} (${range}). That is not "no difference".`,
      next: input.settle("difference"),
    };
  }
  return {
    state,
    size,
    words: `${shownWords(state, input)} by ${input.print(Math.abs(estimate!))} (${range}); ${sizeWords(size!, input)}.`,
    next:
      size === "open"
        ? `Whether that is worthwhile is open. ${input.settle("size")}`
        : "Repeat on another day before building on it: one day cannot tell the part from what else was special about that day.",
  };
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
