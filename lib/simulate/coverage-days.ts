import type {ArmName} from "../result/session.ts";
import type {Term} from "../stats/qr.ts";
import type {Random} from "../stats/random.ts";
import {numberFittings} from "../trial/fittings.ts";
import {planModel, type TrialRun} from "../trial/model.ts";
import {type Deal, drawDeal} from "../trial/plan.ts";
import {type CoverageCase, caseVariation} from "./coverage-cases.ts";
import {drawPower} from "./variation.ts";

/** One day of numbers: no road, no log, only the band time of each run. */
export interface NumbersDay {
  deal: Deal;
  /** band time of each run in the order driven, in per cent of the nominal one: −100 ln(power factor), exactly additive */
  values: Float64Array;
  /** terms of the plan's model for this deal, mean first and arm last */
  terms: readonly Term[];
}

/** True effect of a part in the values of a `NumbersDay`: −100 ln(1 + power). */
export function numbersEffect(power: number): number {
  return -100 * Math.log1p(power);
}

/**
 * Days of a case, each with an order by lot. Band time is taken as inversely proportional to power and on a logarithmic scale, so
 * that an effect shifts the values of its arm and nothing else.
 *
 * @param power the part's relative change of power
 */
export function numbersDays(
  {order, runs, ...rest}: CoverageCase,
  power: number,
  random: Random,
): () => NumbersDay {
  const variation = caseVariation({order, runs, ...rest});
  const minutes = new Array<number>(runs).fill(0); // no heat in these cases, so no clock
  const known = new Map<string, {arms: ArmName[]; fittings: number[]; terms: Term[]}>();
  const aspects = (deal: Deal) => {
    const key = deal.join("");
    const found = known.get(key);
    if (found) return found;
    const driven = trialRuns(deal, order);
    const made = {
      arms: driven.map(run => run.arm),
      fittings: numberFittings(driven),
      terms: planModel(driven, {order, runs, seed: null, looks: 1, unit: "run", locked: null}).terms,
    };
    if (known.size < MOST_KNOWN) known.set(key, made);
    return made;
  };
  return () => {
    const deal = drawDeal(order, runs, random);
    const {arms, fittings, terms} = aspects(deal);
    const powers = drawPower({power, variation}, {arms, minutes, fittings}, random);
    return {deal, terms, values: Float64Array.from(powers, run => -100 * Math.log(run.powerFactor))};
  };
}

/** Models kept by deal; 12 pairs have 4,096 deals, 12 + 12 unpaired 2.7 million. */
const MOST_KNOWN = 5000;

/** A deal as runs of a trial; values are 0 where none are given. */
export function trialRuns(deal: Deal, order: CoverageCase["order"], values?: ArrayLike<number>): TrialRun[] {
  const size = order === "pairs" ? 2 : order === "abba" || order === "blocks-of-4" ? 4 : null;
  return Array.from(deal, (label, i) => ({
    run: i + 1,
    arm: label === 1 ? "changed" : "baseline",
    value: values ? values[i] : 0,
    block: size && Math.floor(i / size) + 1,
    direction: null,
    timeS: null,
    refitted: false,
  }));
}
