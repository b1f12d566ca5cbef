import type {CheckRecord, IntervalRecord, VerdictSize, VerdictState} from "../result/documents.ts";

/** Which direction of the primary measure is an improvement. */
export type Better = "higher" | "lower" | "neither";

/** What a state is decided from. Every number is in the unit of the primary measure. */
export interface DecideInput {
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
}

/** A verdict without its words. */
export interface Decision {
  state: VerdictState;
  /** only with a shown difference, else null */
  size: VerdictSize | null;
}

/**
 * The state of a verdict: the first that applies, in the order too few runs, not a fair test, shown, no worthwhile
 * difference, not settled.
 *
 * "Shown" is a two-sided test at 1 − level (interval clear of zero); "no worthwhile difference" is two one-sided
 * tests at the same level (D. J. Schuirmann, J. Pharmacokinet. Biopharm. 15, 657–680, 1987; from memory).
 * "Not settled" is never "no difference".
 */
export function decide(input: DecideInput): Decision {
  const {tooFew, estimate, interval, checks, worthwhile} = input;
  const failed = checks.some(check => check.outcome === "failed");
  if (tooFew !== null || estimate === null || (interval === null && !failed)) {
    return {state: "too-few-runs", size: null};
  }
  if (failed || interval === null) return {state: "not-a-fair-test", size: null};
  const equivalent = isInside(input.equivalenceInterval, worthwhile);
  if (interval.low > 0 || interval.high < 0) {
    return {state: direction(estimate, input.better), size: shownSize(interval, worthwhile, equivalent)};
  }
  return {state: equivalent ? "no-worthwhile-difference" : "not-settled", size: null};
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
