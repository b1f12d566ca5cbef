import type {BesideRecord, IntervalRecord} from "../result/documents.ts";
import type {Plan} from "../result/session.ts";
import {bootstrapDifference, MEAN} from "../stats/bootstrap.ts";
import {bootstrapCoefficient} from "../stats/bootstrap-residuals.ts";
import type {Random} from "../stats/random.ts";
import {randomisationInterval} from "../stats/randomisation-interval.ts";
import {type Effect, effectOf} from "./effect.ts";
import type {ArmFit} from "./fit.ts";
import {fittingModel} from "./fitting-model.ts";
import {type Model, planModel, type TrialRun} from "./model.ts";
import {dealInput} from "./redeal-test.ts";
import {type Redeals, SAMPLED_DEALS} from "./redeals.ts";

/** Resamples of the check interval: its ends move by about 1 % of their distance with the seed. */
const N_RESAMPLES = 9_999;
/** Resamples of two means are listed up to this number, which takes some 20 ms. */
const MAX_LISTED = 20_000;
/** Fewer re-deals reach no level near 95 %: with 40, the outermost pair of mirror images is 5 % of them. */
export const MIN_DEALS_FOR_INTERVAL = 40;

const UNDER_COVERS = "for teaching: covers too rarely at this number of runs";

/** What the intervals beside the main one are made from. */
export interface BesideInput {
  plan: Plan | null;
  level: number;
  /** the main effect */
  effect: Effect & {fit: ArmFit; interval: IntervalRecord};
  /** the plan's model by run with its fit, whatever the main one counts */
  byRun: {fit: ArmFit; model: Model};
  dealt: Redeals | {deals: null; reason: string};
  random: Random;
}

/**
 * The intervals that are printed beside the main one, each with what it is for, or why the plan does not allow it: the studentised bootstrap
 * of residuals as its check, the other unit (fittings or runs), the effects that the randomisation test does not reject, and two that are
 * taught and cover too rarely.
 */
export function besideIntervals(runs: readonly TrialRun[], input: BesideInput): BesideRecord[] {
  const {effect, level, random} = input;
  const boot = bootstrapCoefficient(effect.fit.leastSquares, "arm", {level, nResamples: N_RESAMPLES, random});
  const taught = taughtIntervals(effect, {level, random}) ?? boot;
  const resamples = boot.complete ? `all ${boot.nResamples} resamples` : `${boot.nResamples} resamples`;
  const method = `studentised bootstrap of residuals, ${resamples}`;
  return [
    {
      name: "studentised-bootstrap",
      interval: recordOf(boot.interval, level, method),
      words: "check of the main interval: it needs no normal noise, only noise of one spread",
    },
    otherUnit(runs, input),
    randomisation(runs, input),
    {
      name: "percentile",
      interval: recordOf(taught.percentile, level, "percentile bootstrap"),
      words: UNDER_COVERS,
    },
    {name: "bca", interval: recordOf(taught.bca, level, "BCa bootstrap"), words: UNDER_COVERS},
  ];
}

type Limits = {low: number; high: number} | null;

function recordOf(limits: Limits, level: number, method: string): IntervalRecord | null {
  return limits && {low: limits.low, high: limits.high, level, method};
}

/** Two means are taught by resampling each arm by itself; null for other models. */
function taughtIntervals(
  {model: {runs, terms}}: Effect,
  {level, random}: {level: number; random: Random},
): {percentile: Limits; bca: Limits} | null {
  if (terms.length > 2) return null;
  const values = (arm: string) => runs.filter(run => run.arm === arm).map(run => run.value);
  const options = {statistic: MEAN, level, random, nResamples: N_RESAMPLES, maxListed: MAX_LISTED};
  const by = (kind: "percentile" | "bca") =>
    bootstrapDifference(values("baseline"), values("changed"), {...options, method: kind}).interval;
  return {percentile: by("percentile"), bca: by("bca")};
}

/** The interval by fitting where the main one is by run, and the other way round. */
function otherUnit(runs: readonly TrialRun[], {plan, level, effect, byRun}: BesideInput): BesideRecord {
  const {look} = effect;
  if (effect.model.unit === "fitting") {
    const {interval, tooFew} = effectOf(byRun.model, {level, look});
    const words =
      "counts every run as if the part had been put on anew for it: too narrow where fittings differ";
    return {name: "runs", interval, words: tooFew ?? words};
  }
  const model = fittingModel(runs, planModel(runs, plan));
  if (model.runs.length === byRun.model.runs.length) {
    return {
      name: "fittings",
      interval: null,
      words: "every run is a fitting of its own: the main interval is this one",
    };
  }
  const {interval, tooFew} = effectOf(model, {level, look});
  const words =
    "counts each fitting once: holds also where putting the part on goes a little differently each time";
  return {name: "fittings", interval, words: tooFew ? `not possible: ${tooFew}` : words};
}

function randomisation(runs: readonly TrialRun[], {level, byRun, dealt}: BesideInput): BesideRecord {
  const name = "randomisation";
  if (!dealt.deals) return {name, interval: null, words: `not possible: ${dealt.reason}`};
  const {count, deals, draw} = dealt;
  if (count < MIN_DEALS_FOR_INTERVAL) {
    return {
      name,
      interval: null,
      words: `not possible with this plan: it has ${count} re-deals, ${MIN_DEALS_FOR_INTERVAL} are needed`,
    };
  }
  const {values, observed, options} = dealInput(runs, byRun);
  const few = count <= SAMPLED_DEALS;
  const sample = few ? deals : [observed, ...Array.from({length: SAMPLED_DEALS}, draw)];
  const found = randomisationInterval(values, observed, sample, {...options, level});
  if (!found)
    return {name, interval: null, words: "not possible with this plan: its re-deals leave a side open"};
  const method = `randomisation, ${few ? `all ${count}` : `${SAMPLED_DEALS} of ${count}`} re-deals`;
  return {
    name,
    interval: {low: found.low, high: found.high, level: found.level, method},
    words:
      "effects that the randomisation test does not reject: rests on the lot alone, at the level it reaches",
  };
}
