import type {
  CheckRecord,
  IntervalRecord,
  VerdictRecord,
  VerdictSize,
  VerdictState,
} from "../result/documents.ts";

/** Which direction of the primary measure is an improvement. */
export type Better = "higher" | "lower" | "neither";

/** What a verdict is drawn from. Every number is in the unit of the primary measure. */
export interface VerdictInput {
  /** why there is no interval, or null: "3 usable runs an arm are needed, the changed arm has 2" */
  tooFew: string | null;
  /** changed − baseline, or null */
  estimate: number | null;
  /** interval of the effect at the session's level */
  interval: IntervalRecord | null;
  /** interval at 2·level − 1 by the same method: inside ± worthwhile is equivalence by two one-sided tests */
  equivalenceInterval: IntervalRecord | null;
  /** smallest difference that matters, positive, or null where it cannot be expressed in the primary's unit */
  worthwhile: number | null;
  better: Better;
  checks: readonly CheckRecord[];
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
 * The verdict: the first state that applies, in the order too few runs, not a fair test, shown, no worthwhile
 * difference, not settled.
 *
 * "Shown" is a two-sided test at 1 − level (interval clear of zero); "no worthwhile difference" is two one-sided
 * tests at the same level (D. J. Schuirmann, J. Pharmacokinet. Biopharm. 15, 657–680, 1987; from memory).
 * "Not settled" is never "no difference".
 */
export function verdict(input: VerdictInput): VerdictRecord {
  const {tooFew, estimate, interval, checks} = input;
  const failed = checks.filter(check => check.outcome === "failed");
  if (tooFew !== null || estimate === null || (interval === null && failed.length === 0)) {
    return {
      state: "too-few-runs",
      size: null,
      words: `Too few runs for an interval: ${tooFew ?? "no estimate could be made"}. Nothing can be said about ${input.changed}.`,
      next: `Drive more runs of both arms in an order drawn by lot${failed.length ? `, and mend first: ${names(failed)}` : ""}.`,
    };
  }
  if (failed.length || interval === null) {
    return {
      state: "not-a-fair-test",
      size: null,
      words: `Not a fair test: ${failed.map(check => check.words).join("; ")}. The figures are shown, but they cannot be put down to ${input.changed}.`,
      next: "Plan the next day so that this cannot happen; no arithmetic repairs it afterwards.",
    };
  }
  const low = input.print(interval.low);
  const high = input.print(interval.high);
  const range = `${percent(interval.level)} interval ${low} to ${high}`;
  const equivalent = isInside(input.equivalenceInterval, input.worthwhile);
  if (interval.low > 0 || interval.high < 0) {
    const state = direction(estimate, input.better);
    const size = shownSize(interval, input.worthwhile, equivalent);
    return {
      state,
      size,
      words: `${shownWords(state, input)} by ${input.print(Math.abs(estimate))} (${range}); ${sizeWords(size, input)}.`,
      next:
        size === "open"
          ? `Whether that is worthwhile is open. ${input.settle("size")}`
          : "Repeat on another day before building on it: one day cannot tell the part from what else was special about that day.",
    };
  }
  if (equivalent) {
    return {
      state: "no-worthwhile-difference",
      size: null,
      words: `No worthwhile difference: with ${input.changed}, ${input.measure} differs by less than ${input.print(input.worthwhile!)} either way (${percent(input.equivalenceInterval!.level)} interval ${input.print(input.equivalenceInterval!.low)} to ${input.print(input.equivalenceInterval!.high)}). A smaller difference is not excluded.`,
      next: "Nothing more to drive for this question, unless a smaller difference matters than the one declared.",
    };
  }
  return {
    state: "not-settled",
    size: null,
    words: `Not settled: the data agree with no difference and with one of up to ${input.print(Math.max(Math.abs(interval.low), Math.abs(interval.high)))} (${range}). That is not "no difference".`,
    next: input.settle("difference"),
  };
}

function isInside(interval: IntervalRecord | null, worthwhile: number | null): boolean {
  return interval !== null && worthwhile !== null && interval.low > -worthwhile && interval.high < worthwhile;
}

function direction(estimate: number, better: Better): VerdictState {
  if (better === "neither") return "shown-different";
  return estimate > 0 === (better === "higher") ? "shown-better" : "shown-worse";
}

function shownSize(interval: IntervalRecord, worthwhile: number | null, equivalent: boolean): VerdictSize {
  if (equivalent) return "below-worthwhile";
  if (worthwhile !== null && Math.min(Math.abs(interval.low), Math.abs(interval.high)) >= worthwhile) {
    return "at-least-worthwhile";
  }
  return "open";
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
