import {requireFinite, requireSameLength, requireValues, requireWhole} from "./check.ts";
import type {Labels} from "./deals.ts";
import {householderQr, type Qr, remainder, type Term} from "./qr.ts";
import {createRandom} from "./random.ts";

/** What a randomisation test found. */
export interface Permutation {
  /** effect of label 1 against label 0 under the labels that were dealt, in the unit of the values */
  estimate: number;
  /** two-sided: share of deals whose effect is at least as far from zero as the one observed */
  p: number;
  /** smallest p that any outcome could give with these deals */
  floor: number;
  /** deals that entered, the observed one among them */
  deals: number;
  /** deals at least as far from zero, the observed one among them */
  asExtreme: number;
  /** deals left out because the effect could not have been estimated under them */
  skipped: number;
}

/** The model behind the statistic, and where its observations sit in the deals. */
export interface PermutationOptions {
  /** other terms of the model, without the intercept, which is always in; one value an observation */
  terms?: readonly Term[];
  /** place in the deals of each observation; default 0, 1, 2, …; an observation that was dropped leaves its place unused */
  places?: ArrayLike<number>;
}

/**
 * Effects that differ by less than this part of the largest remainder are ties: deals that are the same in exact
 * arithmetic differ by rounding, and a lost tie makes p too small.
 */
const TIE = 1e-9;
/** Rounding of the remainders in parts of the largest value, for values that are all alike. */
const ROUNDING = 1e-14;

/** A deal that the other terms explain up to this part of it shows no effect. */
const ALIASED = 1e-9;

/**
 * Randomisation test over the deals that the plan could have made.
 *
 * Statistic: the coefficient of the label in the least-squares model with an intercept and the given terms; without terms
 * the difference of means. By the theorem of Frisch and Waugh it is dᵀMy / dᵀMd with M = 1 − QQᵀ of the other terms, so
 * each deal d costs n·(terms + 1) operations.
 *
 * The test is exact if the labels were dealt with equal chances among `deals` (R. A. Fisher, The Design of Experiments,
 * 1935, §21). `floor` is the share of the smallest group of deals that no outcome can tell apart: as a rule a deal and
 * its mirror image, 2/deals; 1/deals where mirror images are not dealt (arms of different size).
 *
 * @param values   n observations
 * @param observed labels that were dealt, 0 or 1 by place
 * @param deals    every deal the plan could have made, each as likely, the observed one among them
 * @throws {RangeError} a value not finite, wrong lengths, a label other than 0 and 1, the observed deal not among the deals, the
 *   effect not estimable under it
 */
export function permutationTest(
  values: ArrayLike<number>,
  observed: Labels,
  deals: Iterable<Labels>,
  options: PermutationOptions = {},
): Permutation {
  const model = new Model("permutationTest", values, observed, options);
  const counted = {deals: 0, asExtreme: 0, skipped: 0};
  const fingerprints: number[] = [];
  let seen = false;
  for (const deal of deals) {
    if (!count(model, deal, counted)) continue;
    fingerprints.push(Math.abs(model.probed));
    seen ||= model.isObserved(deal);
  }
  if (!seen) {
    throw new RangeError(
      "permutationTest: the labels that were dealt are not among the deals; the plan does not fit the order",
    );
  }
  const floor = smallestGroup(fingerprints) / counted.deals;
  return {estimate: model.estimate, p: counted.asExtreme / counted.deals, floor, ...counted};
}

/**
 * The same with deals drawn by lot, for plans that have too many to list. The observed deal counts as one more draw, so
 * p = (as extreme + 1)/(nDeals + 1) never understates (B. Phipson and G. K. Smyth, Stat. Appl. Genet. Mol. Biol. 9 (2010) 39).
 *
 * @param draw    one deal by lot, every deal of the plan as likely
 * @param options nDeals, default 9999
 * @throws {RangeError} as `permutationTest`, but whether the observed deal belongs to the plan is not seen
 */
export function sampledPermutationTest(
  values: ArrayLike<number>,
  observed: Labels,
  draw: () => Labels,
  {nDeals = 9999, ...options}: PermutationOptions & {nDeals?: number} = {},
): Permutation {
  requireWhole("sampledPermutationTest", nDeals, "nDeals");
  const model = new Model("sampledPermutationTest", values, observed, options);
  const counted = {deals: 1, asExtreme: 1, skipped: 0};
  for (let i = 0; i < nDeals; i++) count(model, draw(), counted);
  return {
    estimate: model.estimate,
    p: counted.asExtreme / counted.deals,
    floor: 1 / counted.deals,
    ...counted,
  };
}

/** Takes one deal into the counts; false where it was skipped. */
function count(
  model: Model,
  deal: Labels,
  counted: {deals: number; asExtreme: number; skipped: number},
): boolean {
  if (!model.take(deal)) {
    counted.skipped++;
    return false;
  }
  counted.deals++;
  if (Math.abs(model.effect) >= Math.abs(model.estimate) - model.tie) counted.asExtreme++;
  return true;
}

/** The values without what the intercept and the other terms explain, ready to meet a deal. */
class Model {
  readonly estimate: number;
  /** difference of effects up to which they are the same */
  readonly tie: number;
  /** effect under the deal taken last */
  effect = 0;
  /** effect of fixed numbers in general position: deals that agree on it cannot be told apart by any values */
  probed = 0;
  readonly #caller: string;
  readonly #qr: Qr;
  readonly #places: ArrayLike<number>;
  readonly #left: Float64Array;
  readonly #probe: Float64Array;
  readonly #labels: Float64Array;
  readonly #observed: Float64Array;

  constructor(
    caller: string,
    values: ArrayLike<number>,
    observed: Labels,
    {terms = [], places}: PermutationOptions,
  ) {
    requireValues(caller, values, "values", 2);
    const n = values.length;
    this.#caller = caller;
    this.#places = places ?? Uint32Array.from({length: n}, (_, i) => i);
    requireSameLength(caller, values, this.#places, "values and places");
    this.#qr = otherTerms(caller, n, terms);
    this.#left = remainder(this.#qr, values);
    const random = createRandom(0, "permutation floor");
    const general = Float64Array.from({length: n}, () => random.normal());
    this.#probe = remainder(this.#qr, general);
    this.#labels = new Float64Array(n);
    this.tie = TIE * largest(this.#left) + ROUNDING * largest(values);
    if (!this.take(observed)) {
      throw new RangeError(
        `${caller}: the labels that were dealt cannot be told from the other terms of the model`,
      );
    }
    this.#observed = this.#labels.slice();
    this.estimate = this.effect;
  }

  /** Computes the effects under a deal; false where they cannot be estimated. */
  take(deal: Labels): boolean {
    const {n, p, q} = this.#qr;
    let square = 0;
    let product = 0;
    let probe = 0;
    for (let i = 0; i < n; i++) {
      const label = deal[this.#places[i]];
      if (label !== 0 && label !== 1) {
        throw new RangeError(
          `${this.#caller}: label ${label} at place ${this.#places[i]} is neither 0 nor 1`,
        );
      }
      this.#labels[i] = label;
      if (label === 0) continue;
      square++;
      product += this.#left[i];
      probe += this.#probe[i];
    }
    for (let k = 0; k < p; k++) {
      let part = 0;
      for (let i = 0, at = k * n; i < n; i++) part += q[at + i] * this.#labels[i];
      square -= part * part;
    }
    if (!(square > ALIASED * n)) return false;
    this.effect = product / square;
    this.probed = probe / square;
    return true;
  }

  /** Whether a deal gives every observation the label that was dealt. */
  isObserved(deal: Labels): boolean {
    return this.#observed.every((label, i) => deal[this.#places[i]] === label);
  }
}

function largest(values: ArrayLike<number>): number {
  let result = 0;
  for (let i = 0; i < values.length; i++) result = Math.max(result, Math.abs(values[i]));
  return result;
}

/** Decomposition of the intercept and the other terms. */
function otherTerms(caller: string, n: number, terms: readonly Term[]): Qr {
  for (const {name, values} of terms) {
    requireSameLength(caller, values, {length: n}, `values and the term "${name}"`);
    requireFinite(caller, values, name);
  }
  const qr = householderQr([new Float64Array(n).fill(1), ...terms.map(term => term.values)]);
  if (qr.dependent !== null) {
    throw new RangeError(
      `${caller}: the term "${terms[qr.dependent - 1].name}" cannot be told from those before it`,
    );
  }
  return qr;
}

/** Size of the smallest group of equal numbers. */
function smallestGroup(numbers: readonly number[]): number {
  const sorted = Float64Array.from(numbers).sort();
  const tie = TIE * sorted[sorted.length - 1];
  let smallest = sorted.length;
  let start = 0;
  for (let i = 1; i <= sorted.length; i++) {
    if (i === sorted.length || sorted[i] - sorted[i - 1] > tie) {
      smallest = Math.min(smallest, i - start);
      start = i;
    }
  }
  return smallest;
}
