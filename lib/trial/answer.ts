import type {CheckRecord, JudgeDocument} from "../result/documents.ts";
import type {Plan} from "../result/session.ts";
import {equivalence} from "../stats/equivalence.ts";
import {type Better, type Decision, decide} from "./decide.ts";
import {designChecks} from "./design-checks.ts";
import {type Effect, estimateEffect} from "./effect.ts";
import type {TrialRun} from "./model.ts";

/** What an answer needs to know beside the values. */
export interface AnswerOptions {
  plan: Plan | null;
  /** level of the main interval; 0.95 = two-sided 5 % */
  level: number;
  /** smallest difference that matters, in the unit of the values, positive */
  worthwhile: number;
  /** which direction is an improvement, default "neither" */
  better?: Better;
}

/** The main interval of a trial and the state of its verdict, with nothing beside: what a calibration asks of thousands of days. */
export interface Answer extends Decision {
  effect: Effect;
  /** two one-sided tests against ± worthwhile */
  equivalence: JudgeDocument["equivalence"];
  /** what of the design itself speaks for or against the comparison */
  checks: CheckRecord[];
}

/**
 * Answers a trial by the model that its plan names. `compare` adds what is printed beside; the state and the interval are these.
 *
 * @param runs  all runs in the order driven, excluded ones with `value: null`
 * @param other checks that were made elsewhere: one that failed makes the test unfair
 * @throws {RangeError} a value that is not finite, several looks without a number of runs
 */
export function answer(
  runs: readonly TrialRun[],
  {plan, level, worthwhile, better = "neither"}: AnswerOptions,
  other: readonly CheckRecord[] = [],
): Answer {
  const effect = estimateEffect(runs, {plan, level});
  const checks = designChecks(runs, plan, effect);
  const decision = decide({
    tooFew: effect.tooFew,
    estimate: effect.fit?.estimate ?? null,
    interval: effect.interval,
    equivalenceInterval: effect.equivalenceInterval,
    worthwhile,
    better,
    checks: [...checks, ...other],
  });
  return {...decision, effect, equivalence: equivalenceOf(effect, {level, worthwhile}), checks};
}

function equivalenceOf(
  {fit, interval, equivalenceInterval, look}: Effect,
  {level, worthwhile}: {level: number; worthwhile: number},
): JudgeDocument["equivalence"] {
  if (!interval || !equivalenceInterval || !fit?.standardError || fit.df === null) return null;
  const {p} = equivalence(fit.estimate, fit.standardError, {df: fit.df, margin: worthwhile, level});
  return {interval: equivalenceInterval, holds: p < look.nominalPEquivalence / 2, p};
}
