/** Relative size of a term below which a sum or fraction no longer moves. */
const SMALL = 1e-16;
/** Keeps Lentz's denominators off zero. */
const TINY = 1e-300;
/** Far more than is needed: about 6·√a terms. */
const MOST_TERMS = 100_000;

/**
 * Regularised incomplete gamma functions P(a, x) and Q(a, x) = 1 − P, each accurate in its own tail.
 *
 * Below x = a + 1 the series of DLMF (dlmf.nist.gov) 8.7.1 for P, above it the continued fraction of DLMF 8.9.2 for Q, in the
 * contracted form x + 1 − a − 1(1 − a)/(x + 3 − a − …) with Lentz's recurrence (W. J. Lentz, Appl. Opt. 15 (1976) 668, as modified
 * by Thompson and Barnett); equation numbers from memory. Relative error about 1e-13·(1 + a/100) from the exponent.
 *
 * @param a shape, positive
 * @param x ≥ 0
 */
export function gammaRatios(a: number, x: number): {lower: number; upper: number} {
  if (x === 0) return {lower: 0, upper: 1};
  if (x === Number.POSITIVE_INFINITY) return {lower: 1, upper: 0};
  const front = Math.exp(a * Math.log(x) - x - logGamma(a));
  if (x < a + 1) {
    let term = 1 / a;
    let sum = term;
    for (let k = 1; k < MOST_TERMS && term > sum * SMALL; k++) {
      term *= x / (a + k);
      sum += term;
    }
    const lower = Math.min(1, front * sum);
    return {lower, upper: 1 - lower};
  }
  let b = x + 1 - a;
  let c = 1 / TINY;
  let d = 1 / b;
  let fraction = d;
  for (let k = 1; k < MOST_TERMS; k++) {
    const numerator = -k * (k - a);
    b += 2;
    d = 1 / nonZero(numerator * d + b);
    c = nonZero(b + numerator / c);
    const factor = c * d;
    fraction *= factor;
    if (Math.abs(factor - 1) < Number.EPSILON) break;
  }
  const upper = Math.min(1, front * fraction);
  return {lower: 1 - upper, upper};
}

function nonZero(value: number): number {
  return Math.abs(value) < TINY ? TINY : value;
}

/** First terms of the series in 1/x of DLMF 5.11.1: B_2k / (2k(2k − 1)). */
const STIRLING = [1 / 12, -1 / 360, 1 / 1260, -1 / 1680, 1 / 1188];
/** From here on these five terms leave less than 3e-16. */
const STIRLING_FROM = 15;

/** ln Γ(x) for x > 0: the Stirling series after stepping up with Γ(x + 1) = x Γ(x). */
export function logGamma(x: number): number {
  let product = 1;
  let z = x;
  for (; z < STIRLING_FROM; z++) product *= z;
  let power = 1 / z;
  let series = 0;
  for (const coefficient of STIRLING) {
    series += coefficient * power;
    power /= z * z;
  }
  return (z - 0.5) * Math.log(z) - z + 0.5 * Math.log(2 * Math.PI) + series - Math.log(product);
}
