import {requireWhole} from "./check.ts";

/**
 * Chance of at least `successes` in `trials` tosses of a fair coin: the sum of C(n, i)·2⁻ⁿ from there on.
 *
 * @throws {RangeError} not whole numbers with 0 ≤ successes ≤ trials ≤ 1000
 */
export function binomialTail(successes: number, trials: number): number {
  requireWhole("binomialTail", trials, "number of trials", 0);
  requireWhole("binomialTail", successes, "number of successes", 0);
  if (successes > trials || trials > 1000) {
    throw new RangeError(`binomialTail: ${successes} of ${trials} is not at most all of at most 1000`);
  }
  let term = 2 ** -trials; // i = trials, the same as i = 0
  let sum = 0;
  for (let i = trials; i >= successes; i--) {
    sum += term;
    term *= i / (trials - i + 1);
  }
  return Math.min(1, sum);
}
