import type {ArmName, OrderName} from "../result/session.ts";
import {splits} from "../stats/deals.ts";
import type {Random} from "../stats/random.ts";

/** Labels by place: 0 = baseline, 1 = changed. */
export type Deal = Int8Array;

/** Above this number of possible deals they are sampled, not listed: 10^6 deals of 12 runs take 12 MB and about 30 ms. */
export const MAX_LISTED_DEALS = 1_000_000;

/** What an order promises, in words and numbers. */
interface OrderRule {
  words: string;
  /** number of runs must be a multiple of this */
  multipleOf: number;
  /** every deal of `runs` places, in a fixed order */
  list(runs: number): Generator<Deal>;
  /** how many deals there are, by combinatorics where a formula is known, else by listing */
  count(runs: number): number;
  /** one deal by lot, every one with the same chance */
  draw(runs: number, random: Random): Deal;
  /** whether some deal of `runs` places starts with these labels */
  could(driven: Deal, runs: number): boolean;
}

const PAIR: readonly Deal[] = [Int8Array.of(0, 1), Int8Array.of(1, 0)];
const ABBA: readonly Deal[] = [Int8Array.of(0, 1, 1, 0), Int8Array.of(1, 0, 0, 1)];
const FOUR: readonly Deal[] = [...choose(4)];

/** The orders a plan can name; `pairs` and the two kinds of block deal each block by itself. */
const ORDERS: Record<OrderName, OrderRule> = {
  complete: {
    words: "as many runs of each arm, in an order drawn by lot",
    multipleOf: 2,
    list: choose,
    count: runs => binomial(runs, runs / 2),
    draw: (runs, random) => shuffled(runs, random),
    could: (driven, runs) => isWithinHalves(driven, runs),
  },
  pairs: blocks("pairs of one run each, the first of each pair drawn by lot", PAIR),
  abba: blocks("blocks of four, each ABBA or BAAB by lot", ABBA),
  "blocks-of-4": blocks("blocks of four, two runs of each arm in an order drawn by lot", FOUR),
  "drift-balanced": {
    words: "drawn by lot among all orders whose arms have the same mean place",
    multipleOf: 4,
    list: balanced,
    count: countBalanced,
    draw: (runs, random) => {
      for (;;) {
        const deal = shuffled(runs, random);
        if (placeSum(deal) * 4 === runs * (runs - 1)) return deal;
      }
    },
    could: couldBeBalanced,
  },
};

/** Whether an order can be dealt for this number of runs, and if not, why: words for a message, or null. */
export function orderProblem(order: OrderName, runs: number): string | null {
  const {multipleOf} = ORDERS[order];
  if (!Number.isInteger(runs) || runs < multipleOf || runs % multipleOf !== 0) {
    return `the order "${order}" deals a multiple of ${multipleOf} runs, not ${runs}`;
  }
  return null;
}

/** The rule of an order in words. */
export function orderWords(order: OrderName): string {
  return ORDERS[order].words;
}

/** Runs come in steps of this many: a pair, a block. */
export function orderStep(order: OrderName): number {
  return ORDERS[order].multipleOf;
}

/**
 * Whether an order could have dealt these labels in its first places, without listing what it deals.
 *
 * @param driven labels of the runs driven, at most `runs`
 * @throws {RangeError} the order cannot be dealt for this number of runs
 */
export function couldDeal(order: OrderName, runs: number, driven: Deal): boolean {
  requireOrder("couldDeal", order, runs);
  return driven.length <= runs && ORDERS[order].could(driven, runs);
}

/**
 * Number of orders the plan could have dealt.
 *
 * @throws {RangeError} the order cannot be dealt for this number of runs
 */
export function countDeals(order: OrderName, runs: number): number {
  requireOrder("countDeals", order, runs);
  return ORDERS[order].count(runs);
}

/**
 * Every order the plan could have dealt, each once, in a fixed sequence.
 *
 * @throws {RangeError} the order cannot be dealt for this number of runs
 */
export function listDeals(order: OrderName, runs: number): Generator<Deal> {
  requireOrder("listDeals", order, runs);
  return ORDERS[order].list(runs);
}

/**
 * One order by lot; every order that `listDeals` lists has the same chance.
 *
 * @throws {RangeError} the order cannot be dealt for this number of runs
 */
export function drawDeal(order: OrderName, runs: number, random: Random): Deal {
  requireOrder("drawDeal", order, runs);
  return ORDERS[order].draw(runs, random);
}

/** One order by lot, as arm names. */
export function dealOrder(plan: {order: OrderName; runs: number}, random: Random): ArmName[] {
  return Array.from(drawDeal(plan.order, plan.runs, random), label => (label === 1 ? "changed" : "baseline"));
}

function requireOrder(caller: string, order: OrderName, runs: number): void {
  const problem = orderProblem(order, runs);
  if (problem) throw new RangeError(`${caller}: ${problem}`);
}

function blocks(words: string, kinds: readonly Deal[]): OrderRule {
  const size = kinds[0].length;
  return {
    words,
    multipleOf: size,
    count: runs => kinds.length ** (runs / size),
    draw: (runs, random) => {
      const deal = new Int8Array(runs);
      for (let at = 0; at < runs; at += size) deal.set(kinds[random.integer(kinds.length)], at);
      return deal;
    },
    could: driven => {
      for (let at = 0; at < driven.length; at += size) {
        const part = driven.subarray(at, at + size);
        if (!kinds.some(kind => part.every((label, place) => label === kind[place]))) return false;
      }
      return true;
    },
    *list(runs) {
      const nBlocks = runs / size;
      const digits = new Array<number>(nBlocks).fill(0);
      for (;;) {
        const deal = new Int8Array(runs);
        digits.forEach((digit, block) => {
          deal.set(kinds[digit], block * size);
        });
        yield deal;
        let block = nBlocks - 1;
        while (block >= 0 && digits[block] === kinds.length - 1) digits[block--] = 0;
        if (block < 0) return;
        digits[block]++;
      }
    },
  };
}

/** Every way to deal half of the places to each arm. */
function choose(runs: number): Generator<Deal> {
  return splits(runs, runs / 2);
}

/** Every deal whose arms have the same sum of places, by filling places in order and leaving dead ends early. */
function balanced(runs: number): Generator<Deal> {
  const deal = new Int8Array(runs);
  return fill(0, runs / 2, (runs * (runs - 1)) / 4);

  /** Deals `ones` labels 1 to the places from `from` on so that their places sum to `sum`. */
  function* fill(from: number, ones: number, sum: number): Generator<Deal> {
    if (ones === 0) {
      if (sum === 0) yield deal.slice();
      return;
    }
    // The largest sum that is left: the last `ones` places.
    if ((ones * (2 * runs - ones - 1)) / 2 < sum) return;
    for (let place = from; place <= runs - ones; place++) {
      // The smallest sum that is left: `ones` places from here on.
      if (ones * place + (ones * (ones - 1)) / 2 > sum) return;
      deal[place] = 1;
      yield* fill(place + 1, ones - 1, sum - place);
      deal[place] = 0;
    }
  }
}

/** Number of subsets of half the places with half the sum of all places, by the usual table of partial sums. */
function countBalanced(runs: number): number {
  const half = runs / 2;
  const target = (runs * (runs - 1)) / 4;
  const ways = Array.from({length: half + 1}, () => new Float64Array(target + 1));
  ways[0][0] = 1;
  for (let place = 0; place < runs; place++) {
    for (let taken = Math.min(half, place + 1); taken > 0; taken--) {
      for (let sum = target; sum >= place; sum--) ways[taken][sum] += ways[taken - 1][sum - place];
    }
  }
  return ways[half][target];
}

/** Whether neither arm has more than half of all places. */
function isWithinHalves(driven: Deal, runs: number): boolean {
  const ones = driven.reduce((sum, label) => sum + label, 0);
  return Math.max(ones, driven.length - ones) <= runs / 2;
}

/** Whether the places left can bring the changed arm to half of the places and half of their sum; they reach every sum in between. */
function couldBeBalanced(driven: Deal, runs: number): boolean {
  if (!isWithinHalves(driven, runs)) return false;
  const left = runs / 2 - driven.reduce((sum, label) => sum + label, 0);
  const missing = (runs * (runs - 1)) / 4 - placeSum(driven);
  const least = left * driven.length + (left * (left - 1)) / 2;
  const most = (left * (2 * runs - left - 1)) / 2;
  return least <= missing && missing <= most;
}

/** Sum of the places (from 0) of the changed arm. */
function placeSum(deal: Deal): number {
  let sum = 0;
  for (let place = 0; place < deal.length; place++) if (deal[place] === 1) sum += place;
  return sum;
}

function shuffled(runs: number, random: Random): Deal {
  const deal = new Int8Array(runs);
  deal.fill(1, 0, runs / 2);
  random.shuffle(deal);
  return deal;
}

function binomial(n: number, k: number): number {
  let result = 1;
  for (let i = 1; i <= k; i++) result = (result * (n - k + i)) / i;
  return Math.round(result);
}
