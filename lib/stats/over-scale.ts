import {requirePositive} from "./check.ts";
import {panels} from "./quadrature.ts";

/** Where the density has fallen to e^−40 of its top it no longer counts. */
const FALL = 40;
/** Width of a panel in standard deviations of ln S; 16 points a panel then leave below 1e-14. */
const PANEL = 2.5;
/** And in ln S itself, for the sake of f. */
const WIDEST = 1.2;

/** Where a function of the spread goes from one level to another. */
export interface Step {
  /** at this spread, positive */
  at: number;
  /** within about this much of ln S to either side */
  width: number;
}

/** So many widths around a step are looked at closely. */
const AROUND = 10;

/**
 * Expected value of f(S), S = √(χ²/df): the spread of a sample over the true spread.
 *
 * Gauss–Legendre over ln S, whose density ∝ exp(df·(ln S − S²/2)) is a smooth bell for every df; the weights are scaled to
 * sum 1. Absolute error about 1e-13 of the largest f where f changes no faster than S does, apart from the steps named.
 *
 * @param df      degrees of freedom, positive, fractional allowed; `Infinity` gives f(1)
 * @param f       function of S > 0
 * @param options steps of f, default none; upTo: f is 0 from this S on, default Infinity
 * @throws {RangeError} df not positive
 */
export function overScale(
  df: number,
  f: (scale: number) => number,
  {steps = [], upTo = Number.POSITIVE_INFINITY}: {steps?: readonly Step[]; upTo?: number} = {},
): number {
  if (df === Number.POSITIVE_INFINITY) return upTo > 1 ? f(1) : 0;
  requirePositive("overScale", df, "degrees of freedom");
  const reach = FALL / df;
  const low = -(reach + Math.sqrt(reach));
  const high = 0.5 * Math.log1p(2 * Math.sqrt(reach) + 2 * reach);
  const bell = PANEL / Math.sqrt(2 * df);
  const end = Math.max(low, Math.min(high, Math.log(upTo)));
  const near = steps.map(({at, width}) => ({
    from: Math.log(at) - AROUND * width,
    to: Math.log(at) + AROUND * width,
    width: 1.5 * width,
  }));
  const edges = [low, end, high, ...near.flatMap(({from, to}) => [from, to])]
    .filter(edge => edge >= low && edge <= high)
    .sort((a, b) => a - b);
  let total = 0;
  let sum = 0;
  for (let k = 1; k < edges.length; k++) {
    const [from, to] = [edges[k - 1], edges[k]];
    if (from === to) continue;
    const middle = (from + to) / 2;
    const width = Math.min(
      bell,
      WIDEST,
      ...near.filter(part => part.from < middle && middle < part.to).map(part => part.width),
    );
    const {points, weights} = panels(from, to, {width});
    for (let i = 0; i < points.length; i++) {
      const weight = weights[i] * density(points[i], df);
      total += weight;
      if (middle < end) sum += weight * f(Math.exp(points[i]));
    }
  }
  return sum / total;
}

/** Density of u = ln S, 1 at its top u = 0. */
function density(u: number, df: number): number {
  return Math.exp(df * (u - Math.expm1(2 * u) / 2));
}
