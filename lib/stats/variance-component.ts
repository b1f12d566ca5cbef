import {requireFinite, requireSameLength} from "./check.ts";
import {householderQr, remainder, type Term} from "./qr.ts";

/** Spread between groups, beyond what their members explain. */
export interface VarianceComponent {
  /** standard deviation between groups; 0 where members differ more than groups do */
  between: number;
  /** standard deviation of one observation within its group */
  within: number;
  /** degrees of freedom that tell groups from one another */
  dfBetween: number;
  dfWithin: number;
}

/** A column counts as spanned by those before when they leave less than this part of its square. */
const SPANNED = 1e-9;

/**
 * Variance between groups beside the terms of a model, by the method of moments: Henderson's method 3 (C. R. Henderson, Biometrics 9
 * (1953) 226). With the intercept alone and groups of one size it is the usual (MS between − MS within)/size.
 *
 * Unbiased before the cut at zero, whatever the noise; with few degrees of freedom it is itself known only to about √(2/df) of the
 * variance.
 *
 * @param y      n observations
 * @param terms  columns of the model, an intercept among them
 * @param groups group of each observation
 * @returns null where no group has two observations that the terms leave apart, or the terms explain every difference of groups
 * @throws {RangeError} different lengths, a value that is not finite
 */
export function varianceComponent(
  y: ArrayLike<number>,
  terms: readonly Term[],
  groups: ArrayLike<number>,
): VarianceComponent | null {
  requireFinite("varianceComponent", y, "y");
  requireSameLength("varianceComponent", y, groups, "y and groups");
  const n = y.length;
  const qr = householderQr(terms.map(term => term.values));
  const left = remainder(qr, y);
  const basis: Float64Array[] = [];
  let trace = 0;
  for (const group of new Set(Array.from(groups))) {
    const members = Float64Array.from({length: n}, (_, i) => (groups[i] === group ? 1 : 0));
    const column = remainder(qr, members);
    trace += dot(column, column);
    for (const before of basis) addTo(column, before, -dot(before, column));
    const square = dot(column, column);
    if (square > SPANNED * dot(members, members)) basis.push(column.map(value => value / Math.sqrt(square)));
  }
  const dfBetween = basis.length;
  const dfWithin = n - terms.length - dfBetween;
  if (dfBetween < 1 || dfWithin < 1) return null;
  const explained = basis.reduce((sum, column) => sum + dot(column, left) ** 2, 0);
  const within = Math.max(0, dot(left, left) - explained) / dfWithin;
  const between = Math.max(0, (explained - dfBetween * within) / trace);
  return {between: Math.sqrt(between), within: Math.sqrt(within), dfBetween, dfWithin};
}

function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i] * b[i];
  return sum;
}

function addTo(target: Float64Array, column: Float64Array, factor: number): void {
  for (let i = 0; i < target.length; i++) target[i] += factor * column[i];
}
