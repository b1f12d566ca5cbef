import {requireFinite, requireSameLength, requireValues} from "./check.ts";
import type {Labels} from "./deals.ts";
import {householderQr, type Qr, remainder, type Term} from "./qr.ts";
import {createRandom} from "./random.ts";

/** The model behind the statistic of a randomisation test, and where its observations sit in the deals. */
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
export const TIE = 1e-9;
/** Rounding of the remainders in parts of the largest value, for values that are all alike. */
const ROUNDING = 1e-14;
/** A deal that the other terms explain up to this part of it shows no effect. */
const ALIASED = 1e-9;

/**
 * The values without what the intercept and the other terms explain, ready to meet a deal.
 *
 * By the theorem of Frisch and Waugh the coefficient of a deal e in the whole model is eᵀMy/eᵀMe with M = 1 − QQᵀ of the other
 * terms, so that each deal costs n·(terms + 1) operations.
 */
export class DealModel {
  /** effect under the labels that were dealt */
  readonly estimate: number;
  /** difference of effects up to which they are the same */
  readonly tie: number;
  /** observations − terms, intercept and label among them */
  readonly df: number;
  /** yᵀMy: sum of squares that the other terms leave, 0 where it is rounding */
  readonly total: number;
  /** eᵀMe of the labels that were dealt */
  readonly observedSquare: number;
  /** of the deal taken last: eᵀMy, … */
  product = 0;
  /** … eᵀMe, … */
  square = 0;
  /** … eᵀMd with the labels d that were dealt, … */
  overlap = 0;
  /** … and its effect on fixed numbers in general position: deals that agree on it cannot be told apart by any values */
  probed = 0;
  readonly #caller: string;
  readonly #qr: Qr;
  readonly #places: ArrayLike<number>;
  readonly #left: Float64Array;
  readonly #leftOfDealt: Float64Array;
  readonly #probe: Float64Array;
  readonly #labels: Float64Array;
  readonly #observed: Float64Array;

  /** @throws {RangeError} values, labels, terms or places that do not fit, an effect that cannot be estimated */
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
    this.#leftOfDealt = new Float64Array(n);
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
    this.#leftOfDealt.set(remainder(this.#qr, this.#observed));
    this.observedSquare = this.square;
    this.overlap = this.square;
    this.estimate = this.effect;
    this.df = n - this.#qr.p - 1;
    const alike = largest(this.#left) <= ROUNDING * largest(values);
    this.total = alike ? 0 : this.#left.reduce((sum, value) => sum + value * value, 0);
  }

  /** Effect under the deal taken last. */
  get effect(): number {
    return this.product / this.square;
  }

  /** Computes what the fields say of a deal; false where its effect cannot be estimated. */
  take(deal: Labels): boolean {
    const {n, p, q} = this.#qr;
    const places = this.#places;
    const labels = this.#labels;
    const left = this.#left;
    const leftOfDealt = this.#leftOfDealt;
    const general = this.#probe;
    let square = 0;
    let product = 0;
    let overlap = 0;
    let probe = 0;
    for (let i = 0; i < n; i++) {
      const label = deal[places[i]];
      if (label !== 0 && label !== 1) {
        throw new RangeError(`${this.#caller}: label ${label} at place ${places[i]} is neither 0 nor 1`);
      }
      labels[i] = label;
      if (label === 0) continue;
      square++;
      product += left[i];
      overlap += leftOfDealt[i];
      probe += general[i];
    }
    for (let k = 0; k < p; k++) {
      let part = 0;
      for (let i = 0, at = k * n; i < n; i++) part += q[at + i] * labels[i];
      square -= part * part;
    }
    if (!(square > ALIASED * n)) return false;
    this.square = square;
    this.product = product;
    this.overlap = overlap;
    this.probed = probe / square;
    return true;
  }

  /** Whether a deal gives every observation the label that was dealt. */
  isObserved(deal: Labels): boolean {
    for (let i = 0; i < this.#observed.length; i++) {
      if (deal[this.#places[i]] !== this.#observed[i]) return false;
    }
    return true;
  }
}

/** Size of the smallest group of deals that no values can tell apart, from what each made of the fixed numbers. */
export function smallestGroup(probed: readonly number[]): number {
  const sorted = Float64Array.from(probed, Math.abs).sort();
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

/** @throws {RangeError} always: the deal that was dealt was not met among the deals */
export function refuseForeignDeal(caller: string): never {
  throw new RangeError(
    `${caller}: the labels that were dealt are not among the deals; the plan does not fit the order`,
  );
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
