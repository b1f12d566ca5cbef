/** Points and weights for integrals over −1 … 1. */
export interface Quadrature {
  points: Float64Array;
  weights: Float64Array;
}

/** Points of one panel: exact for polynomials up to degree 31, so that panels of two widths of a bell lose nothing. */
const POINTS = 16;

let rule: Quadrature | null = null;

/**
 * Gauss–Legendre rule with 16 points on −1 … 1.
 *
 * Zeros of the Legendre polynomial by Newton's rule from Tricomi's start, weights 2/((1 − x²)P′(x)²)
 * (M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions, 1964, 25.4.29; number from memory).
 */
export function gaussLegendre(): Quadrature {
  if (rule !== null) return rule;
  const points = new Float64Array(POINTS);
  const weights = new Float64Array(POINTS);
  for (let i = 0; i < POINTS; i++) {
    let x = -Math.cos((Math.PI * (i + 0.75)) / (POINTS + 0.5));
    let slope = 0;
    for (let step = 0; step < 10; step++) {
      let before = 1;
      let value = x;
      for (let k = 2; k <= POINTS; k++) {
        const next = ((2 * k - 1) * x * value - (k - 1) * before) / k;
        before = value;
        value = next;
      }
      slope = (POINTS * (x * value - before)) / (x * x - 1);
      x -= value / slope;
    }
    points[i] = x;
    weights[i] = 2 / ((1 - x * x) * slope * slope);
  }
  rule = {points, weights};
  return rule;
}

/**
 * Points and weights for an integral from `low` to `high` in equal panels of at most the given width.
 *
 * @param low  finite
 * @param high finite, above low
 * @param options width of a panel, positive
 */
export function panels(low: number, high: number, {width}: {width: number}): Quadrature {
  const count = Math.max(1, Math.ceil((high - low) / width));
  const half = (high - low) / count / 2;
  const {points, weights} = gaussLegendre();
  const all = {points: new Float64Array(count * POINTS), weights: new Float64Array(count * POINTS)};
  for (let panel = 0, at = 0; panel < count; panel++) {
    const centre = low + (2 * panel + 1) * half;
    for (let i = 0; i < POINTS; i++, at++) {
      all.points[at] = centre + half * points[i];
      all.weights[at] = half * weights[i];
    }
  }
  return all;
}
