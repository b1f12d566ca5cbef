import {requireSeries} from "./check.ts";

/** A smoothed series with its rate of change, n values each. */
export interface Smoothed {
  values: Float64Array;
  slopes: Float64Array;
  /** standard deviation of each slope for white noise of 1 in the values [1/s] */
  slopeGains: Float64Array;
}

export interface LocalPolynomialOptions {
  /** samples within this time of the middle count, the nearer the more [s] */
  halfWidthS: number;
  /** of the polynomial, 1 to 4; default 2 */
  order?: number;
}

/** A bandwidth with what it costs. */
export interface Bandwidth {
  halfWidthS: number;
  /** what noise leaves in the slope, and what smoothing takes from it (root mean squares) [unit of values / s] */
  noise: number;
  bias: number;
  /** white noise of the values, seen in their differences */
  noiseOfValues: number;
}

/** Widths tried for `chooseBandwidth`: this many mean steps, each 1.5 times the one before. */
const NARROWEST_STEPS = 3;
const WIDTH_RATIO = 1.5;
const WIDTHS = 8;
/** Order that stands in for the truth when smoothing is judged, over half as much time again. */
const FULLER_ORDER = 4;
const FULLER_WIDTH = 1.5;

/**
 * Local polynomial regression (J. Fan and I. Gijbels, Local Polynomial Modelling and Its Applications, 1996) with tricube weights:
 * value and slope of the weighted least-squares polynomial around each sample. Steps may be uneven.
 *
 * Exact for polynomials up to its order. White noise σ leaves σ·slopeGain in a slope; a slope that bends is flattened: for order
 * 2 by about 0.1·h²·(third derivative), h the half width. Towards the ends the window is one-sided and noise grows some fourfold. Where fewer than
 * order + 2 samples lie in it, the nearest ones are taken.
 *
 * @param timeS  sample times [s], length n ≥ order + 2, strictly increasing
 * @param values length n, finite
 * @throws {RangeError} not a series, too short, half width not positive, order not 1 … 4
 */
export function localPolynomial(
  timeS: ArrayLike<number>,
  values: ArrayLike<number>,
  {halfWidthS, order = 2}: LocalPolynomialOptions,
): Smoothed {
  requireSeries("localPolynomial", timeS, values);
  const n = timeS.length;
  if (!(halfWidthS > 0))
    throw new RangeError(`localPolynomial: half width must be positive, found ${halfWidthS} s`);
  if (!(Number.isInteger(order) && order >= 1 && order <= 4))
    throw new RangeError(`localPolynomial: order must be 1 to 4, found ${order}`);
  if (n < order + 2)
    throw new RangeError(`localPolynomial: order ${order} needs ${order + 2} samples, found ${n}`);
  const result: Smoothed = {
    values: new Float64Array(n),
    slopes: new Float64Array(n),
    slopeGains: new Float64Array(n),
  };
  const p = order + 1;
  let [first, end] = [0, 0];
  for (let i = 0; i < n; i++) {
    while (timeS[first] < timeS[i] - halfWidthS) first++;
    while (end < n && timeS[end] <= timeS[i] + halfWidthS) end++;
    let [low, high] = [first, end];
    while (high - low < order + 2) {
      if (high === n || (low > 0 && timeS[i] - timeS[low - 1] < timeS[high] - timeS[i])) low--;
      else high++;
    }
    const reach = Math.max(halfWidthS, 1.001 * Math.max(timeS[i] - timeS[low], timeS[high - 1] - timeS[i]));
    const normal = new Float64Array(p * p);
    const right = new Float64Array(p);
    const squares = new Float64Array(p * p); // with squared weights, for the noise
    for (let k = low; k < high; k++) {
      const x = (timeS[k] - timeS[i]) / reach;
      const weight = (1 - Math.abs(x) ** 3) ** 3;
      let power = weight;
      for (let a = 0; a < p; a++) {
        right[a] += power * values[k];
        let product = power;
        for (let b = 0; b < p; b++) {
          normal[a * p + b] += product;
          squares[a * p + b] += product * weight;
          product *= x;
        }
        power *= x;
      }
    }
    const inverse = invert(normal, p);
    let [value, slope, gain] = [0, 0, 0];
    for (let a = 0; a < p; a++) {
      value += inverse[a] * right[a];
      slope += inverse[p + a] * right[a];
      for (let b = 0; b < p; b++) gain += inverse[p + a] * squares[a * p + b] * inverse[p + b];
    }
    result.values[i] = value;
    result.slopes[i] = slope / reach;
    result.slopeGains[i] = Math.sqrt(gain) / reach;
  }
  return result;
}

/**
 * Half width for slopes of order 2 with the least sum of squared noise and squared bias, both root mean squares over the series
 * without its ends.
 *
 * Noise: white noise of the values times the gain. Bias: how far the slopes are from those of order 4 over half as much
 * time again, less what noise alone sets them apart. Noise that hangs together over more than a few samples counts as signal.
 *
 * @throws {RangeError} as `localPolynomial`; fewer than 12 samples
 */
export function chooseBandwidth(timeS: ArrayLike<number>, values: ArrayLike<number>): Bandwidth {
  requireSeries("chooseBandwidth", timeS, values);
  const n = timeS.length;
  if (n < 12) throw new RangeError(`chooseBandwidth: at least 12 samples are needed, found ${n}`);
  const stepS = (timeS[n - 1] - timeS[0]) / (n - 1);
  const noiseOfValues = whiteNoise(timeS, values);
  let best: Bandwidth | null = null;
  for (let w = 0; w < WIDTHS; w++) {
    const halfWidthS = NARROWEST_STEPS * stepS * WIDTH_RATIO ** w;
    if (w > 0 && 4 * halfWidthS * FULLER_WIDTH > timeS[n - 1] - timeS[0]) break;
    const plain = localPolynomial(timeS, values, {halfWidthS});
    const fuller = localPolynomial(timeS, values, {
      halfWidthS: FULLER_WIDTH * halfWidthS,
      order: FULLER_ORDER,
    });
    let [noise2, apart2, count] = [0, 0, 0];
    for (let i = 0; i < n; i++) {
      const fromEnd = Math.min(timeS[i] - timeS[0], timeS[n - 1] - timeS[i]);
      if (fromEnd < Math.min(FULLER_WIDTH * halfWidthS, (timeS[n - 1] - timeS[0]) / 4)) continue;
      noise2 += (noiseOfValues * plain.slopeGains[i]) ** 2;
      // both slopes come from the same noise, so what sets them apart is at most the sum and about the difference of variances
      const shared = noiseOfValues ** 2 * Math.abs(plain.slopeGains[i] ** 2 - fuller.slopeGains[i] ** 2);
      apart2 += Math.max(0, (plain.slopes[i] - fuller.slopes[i]) ** 2 - shared);
      count++;
    }
    if (count === 0) break;
    const candidate = {
      halfWidthS,
      noise: Math.sqrt(noise2 / count),
      bias: Math.sqrt(apart2 / count),
      noiseOfValues,
    };
    const cost = (b: Bandwidth) => b.noise ** 2 + b.bias ** 2;
    if (best === null || cost(candidate) < cost(best)) best = candidate;
  }
  return best!;
}

/** White noise of a series from third differences, by their median size: a smooth course leaves none. */
function whiteNoise(timeS: ArrayLike<number>, values: ArrayLike<number>): number {
  const sizes: number[] = [];
  for (let i = 0; i + 3 < timeS.length; i++) {
    // value at i + 1 against the parabola through i, i + 2, i + 3
    const t = timeS[i + 1];
    const [a, b, c] = [timeS[i], timeS[i + 2], timeS[i + 3]];
    const wa = ((t - b) * (t - c)) / ((a - b) * (a - c));
    const wb = ((t - a) * (t - c)) / ((b - a) * (b - c));
    const wc = ((t - a) * (t - b)) / ((c - a) * (c - b));
    const miss = values[i + 1] - wa * values[i] - wb * values[i + 2] - wc * values[i + 3];
    sizes.push(Math.abs(miss) / Math.sqrt(1 + wa * wa + wb * wb + wc * wc));
  }
  sizes.sort((x, y) => x - y);
  return 1.4826 * sizes[sizes.length >> 1];
}

/** Inverse of a small symmetric positive matrix by elimination. */
function invert(matrix: Float64Array, n: number): Float64Array {
  const a = matrix.slice();
  const inverse = new Float64Array(n * n);
  for (let i = 0; i < n; i++) inverse[i * n + i] = 1;
  for (let i = 0; i < n; i++) {
    const pivot = a[i * n + i];
    for (let k = 0; k < n; k++) {
      a[i * n + k] /= pivot;
      inverse[i * n + k] /= pivot;
    }
    for (let j = 0; j < n; j++) {
      if (j === i) continue;
      const share = a[j * n + i];
      if (share === 0) continue;
      for (let k = 0; k < n; k++) {
        a[j * n + k] -= share * a[i * n + k];
        inverse[j * n + k] -= share * inverse[i * n + k];
      }
    }
  }
  return inverse;
}
