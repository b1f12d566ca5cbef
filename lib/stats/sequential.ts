import {requireFraction, requireWhole} from "./check.ts";
import {normalQuantile, normalUpperTail} from "./distributions.ts";
import {panels, type Quadrature} from "./quadrature.ts";
import {findRoot} from "./root.ts";

/** One look at the data of a planned sequence. */
export interface Look {
  /** share of the planned information, 0 … 1 */
  informationTime: number;
  /** stop where |Z| reaches this; null where this look may spend nothing (less than 1e-300) */
  z: number | null;
  /** two-sided p-value of that boundary, 0 where z is null: with few degrees of freedom use the t quantile at this p */
  nominalP: number;
  /** chance of a false alarm up to and including this look */
  spent: number;
}

/** How early looks may spend the chance of a false alarm: hardly anything, or an even share. */
export type Spending = "obrien-fleming" | "pocock";

/** Width of a panel in the narrower of the two steps of information beside it. */
const PANEL = 2;
/** Constants lie below this for any α above 1e-10 and any number of looks that can be computed. */
const LARGEST_CONSTANT = 10;

/**
 * Two-sided boundaries that spend the chance of a false alarm as information comes in.
 *
 * K. K. G. Lan and D. L. DeMets, Biometrika 70 (1983) 659. "obrien-fleming" spends 2(1 − Φ(z(1 − α/4)/√t)) on each side, 4(1 − Φ(…))
 * together; some programs spend 2(1 − Φ(z(1 − α/2)/√t)) together instead and get lower late boundaries (D. M. Reboussin et al., Control. Clin. Trials
 * 21 (2000) 190; from memory). "pocock" spends α ln(1 + (e − 1)t). Boundaries good to 1e-8. Looks that follow each other by less
 * than a thousandth of the information take seconds.
 *
 * @param informationTimes one a look, rising, above 0 and at most 1
 * @param options          alpha, default 0.05; spending, default "obrien-fleming"
 * @throws {RangeError} times out of order or range, alpha not between 0 and 1
 */
export function spendingBoundaries(
  informationTimes: readonly number[],
  {alpha = 0.05, spending = "obrien-fleming"}: {alpha?: number; spending?: Spending} = {},
): Look[] {
  requireTimes("spendingBoundaries", informationTimes);
  requireFraction("spendingBoundaries", alpha, "alpha");
  const walk = new Walk(informationTimes);
  let before = 0;
  return informationTimes.map(informationTime => {
    const spent = spentAt(informationTime, {alpha, spending});
    const now = spent - before;
    before = spent;
    const z = now > 1e-300 ? walk.boundary(now) : null;
    walk.stop(z);
    return {informationTime, z, nominalP: z === null ? 0 : 2 * normalUpperTail(z), spent};
  });
}

/**
 * Chance of having crossed by each look, without an effect.
 *
 * P. Armitage, C. K. McPherson and B. C. Rowe, J. R. Stat. Soc. A 132 (1969) 235: the density of the sum that went on is carried
 * from look to look, by Gauss–Legendre panels.
 *
 * @param informationTimes as for `spendingBoundaries`
 * @param z                boundary of |Z| at each look, positive
 * @throws {RangeError} times or boundaries out of range, different lengths
 */
export function crossingProbabilities(informationTimes: readonly number[], z: readonly number[]): number[] {
  requireTimes("crossingProbabilities", informationTimes);
  if (z.length !== informationTimes.length || !z.every(value => value > 0 && value < 1e3)) {
    throw new RangeError("crossingProbabilities: a positive boundary is needed at each look");
  }
  const walk = new Walk(informationTimes);
  let crossed = 0;
  return z.map(value => {
    crossed += walk.crossing(value);
    walk.stop(value);
    return crossed;
  });
}

/**
 * Constant C of the test that stops at look k of K where |Z| ≥ C·√(K/k) (P. C. O'Brien and T. R. Fleming, Biometrics 35 (1979) 549).
 *
 * @param looks   K equally spaced looks
 * @param options alpha, two-sided, default 0.05
 * @throws {RangeError} looks not a whole number ≥ 1, alpha not between 0 and 1
 */
export function obrienFlemingConstant(looks: number, {alpha = 0.05}: {alpha?: number} = {}): number {
  return constant("obrienFlemingConstant", looks, {alpha, power: 0.5});
}

/**
 * Constant C of the test that stops at any of K equally spaced looks where |Z| ≥ C (S. J. Pocock, Biometrika 64 (1977) 191).
 *
 * @throws {RangeError} as `obrienFlemingConstant`
 */
export function pocockConstant(looks: number, {alpha = 0.05}: {alpha?: number} = {}): number {
  return constant("pocockConstant", looks, {alpha, power: 0});
}

function constant(caller: string, looks: number, {alpha, power}: {alpha: number; power: number}): number {
  requireWhole(caller, looks, "number of looks");
  requireFraction(caller, alpha, "alpha");
  const times = Array.from({length: looks}, (_, k) => (k + 1) / looks);
  const miss = (c: number): number =>
    crossingProbabilities(
      times,
      times.map(time => c / time ** power),
    )[looks - 1] - alpha;
  // one look is the lowest constant, and the sum over all looks bounds the crossing from above
  return findRoot(miss, normalQuantile(1 - alpha / 2) - 1e-9, LARGEST_CONSTANT);
}

function spentAt(time: number, {alpha, spending}: {alpha: number; spending: Spending}): number {
  return spending === "pocock"
    ? alpha * Math.log(1 + (Math.E - 1) * time)
    : 4 * normalUpperTail(normalQuantile(1 - alpha / 4) / Math.sqrt(time));
}

/** A sum of independent normal steps that ends where it crosses a boundary. */
class Walk {
  readonly #times: readonly number[];
  /** looks taken */
  #look = 0;
  /** where the sum may be after the last look, and its density there times the weight of the point */
  #at: Quadrature = {points: Float64Array.of(0), weights: Float64Array.of(1)};

  constructor(times: readonly number[]) {
    this.#times = times;
  }

  /** Chance to cross ±z at the next look, having crossed none before. */
  crossing(z: number): number {
    const bound = z * Math.sqrt(this.#times[this.#look]);
    const step = this.#step();
    const {points, weights} = this.#at;
    let sum = 0;
    for (let i = 0; i < points.length; i++) {
      const above = normalUpperTail((bound - points[i]) / step);
      const below = normalUpperTail((bound + points[i]) / step);
      sum += weights[i] * (above + below);
    }
    return sum;
  }

  /** z with that chance; the chance of one look alone bounds it. */
  boundary(chance: number): number {
    const highest = chance < 1 ? -normalQuantile(chance / 2) : 0;
    const miss = (z: number): number => Math.log(this.crossing(z)) - Math.log(chance);
    return this.#look === 0 ? highest : findRoot(miss, 0, highest + 1e-9);
  }

  /** Takes the look: sums beyond ±z are out; with null all go on. */
  stop(z: number | null): void {
    const step = this.#step();
    const time = this.#times[this.#look];
    const following = this.#times[this.#look + 1] ?? Number.POSITIVE_INFINITY;
    this.#look++;
    if (following === Number.POSITIVE_INFINITY) return;
    const bound = (z ?? NEVER) * Math.sqrt(time);
    const width = PANEL * Math.min(step, Math.sqrt(following - time));
    const next = panels(-bound, bound, {width});
    const {points, weights} = this.#at;
    for (let j = 0; j < next.points.length; j++) {
      let density = 0;
      for (let i = 0; i < points.length; i++) {
        const deviation = (next.points[j] - points[i]) / step;
        density += weights[i] * Math.exp((-deviation * deviation) / 2);
      }
      next.weights[j] *= density / (step * Math.sqrt(2 * Math.PI));
    }
    this.#at = next;
  }

  #step(): number {
    return Math.sqrt(this.#times[this.#look] - (this.#look > 0 ? this.#times[this.#look - 1] : 0));
  }
}

/** A normal deviate that does not come. */
const NEVER = 38;

function requireTimes(caller: string, times: readonly number[]): void {
  if (times.length === 0) throw new RangeError(`${caller}: at least one look needed`);
  times.forEach((time, k) => {
    if (!(time > (k > 0 ? times[k - 1] : 0) && time <= 1)) {
      throw new RangeError(
        `${caller}: information times must rise from above 0 to at most 1, but look ${k + 1} is at ${time}`,
      );
    }
  });
}
