import type {IntervalRecord} from "../result/documents.ts";
import type {Plan} from "../result/session.ts";
import {holm} from "../stats/adjusted-p.ts";
import {studentTTwoSided} from "../stats/distributions.ts";
import {type Measure, maxTTest} from "../stats/max-t.ts";
import {createRandom} from "../stats/random.ts";
import {effectOf, estimateEffect} from "./effect.ts";
import type {TrialRun} from "./model.ts";
import {planModel} from "./model.ts";
import {dealInput} from "./redeal-test.ts";
import {redeals, SAMPLED_DEALS} from "./redeals.ts";

/** Fewer re-deals than this are too coarse to adjust by: a hundredth is the smallest p that any of them reaches. */
export const MIN_DEALS_TO_ADJUST = 100;

/** One measure of a day beside the primary one. */
export interface MeasureRuns {
  name: string;
  /** all runs in the order driven, with the values of this measure */
  runs: readonly TrialRun[];
}

/** One measure in a comparison of several; numbers in its own unit. */
export interface MeasureComparison {
  name: string;
  estimate: number;
  /** of this measure alone, not adjusted */
  interval: IntervalRecord;
  /** of this measure alone */
  p: number;
  /** adjusted for the number of measures: the chance that any of them shows a difference without one stays at this level */
  adjustedP: number;
}

/** Several measures of the same runs, beside the primary one: exploratory. */
export interface MeasuresComparison {
  measures: MeasureComparison[];
  /** how p was adjusted, in words */
  method: string;
  /** measures without an interval, and why */
  left: {name: string; reason: string}[];
}

/**
 * Compares the arms in several measures of the same runs. One measure is primary and stands by itself; these are exploratory, and their
 * p-values are adjusted for their number: by the largest |t| over the plan's re-deals, step-down (P. H. Westfall and S. S. Young,
 * 1993), which counts once what measures share; by Holm's method on t where the plan has fewer than 100 re-deals.
 *
 * @throws {RangeError} a value that is not finite
 */
export function compareMeasures(
  measures: readonly MeasureRuns[],
  {plan, level, seed}: {plan: Plan | null; level: number; seed: number},
): MeasuresComparison {
  const left: MeasuresComparison["left"] = [];
  const usable = measures.flatMap(({name, runs}) => {
    const {look} = estimateEffect(runs, {plan, level});
    const model = planModel(runs, plan);
    const {fit, interval, tooFew} = effectOf(model, {level, look});
    if (fit?.standardError && fit.df !== null && interval)
      return [{name, runs, model, fit, interval, df: fit.df, se: fit.standardError}];
    left.push({name, reason: tooFew ?? "the runs do not differ in it"});
    return [];
  });
  const alone = usable.map(({fit, df, se}) => studentTTwoSided(fit.estimate / se, df));
  const {p, adjusted, method} = adjust();
  return {
    measures: usable.map(({name, fit, interval}, i) => ({
      name,
      estimate: fit.estimate,
      interval,
      p: p[i],
      adjustedP: adjusted[i],
    })),
    method,
    left,
  };

  function adjust(): {p: readonly number[]; adjusted: ArrayLike<number>; method: string} {
    const byHolm = (why: string) => ({
      p: alone,
      adjusted: holm(alone),
      method: `t, adjusted by Holm's method (${why})`,
    });
    if (usable.length === 0) return byHolm("no measure");
    const dealt = redeals(usable[0].runs, plan, createRandom(seed, "measures"));
    if (!dealt.deals) return byHolm(dealt.reason);
    if (dealt.count < MIN_DEALS_TO_ADJUST) {
      return byHolm(`${dealt.count} re-deals are fewer than ${MIN_DEALS_TO_ADJUST}`);
    }
    const inputs = usable.map(({runs, fit, model}) => dealInput(runs, {fit, model}));
    const few = dealt.count <= SAMPLED_DEALS;
    const deals = few
      ? dealt.deals
      : [inputs[0].observed, ...Array.from({length: SAMPLED_DEALS}, dealt.draw)];
    const found = maxTTest(
      inputs.map(({values, options}): Measure => ({values, ...options})),
      inputs[0].observed,
      deals,
      {level},
    ).measures;
    return {
      p: found.map(measure => measure.p),
      adjusted: found.map(measure => measure.pStepDown),
      method: `largest |t| over ${few ? `all ${dealt.count}` : `${SAMPLED_DEALS} of ${dealt.count}`} re-deals, step-down`,
    };
  }
}
