import {requirePositive, requireWhole} from "./check.ts";
import {householderQr, invertTriangle} from "./qr.ts";

/**
 * Weights that give the value or a derivative of the least-squares polynomial at the middle of a window of equally
 * spaced samples (A. Savitzky and M. J. E. Golay, Anal. Chem. 36 (1964) 1627).
 *
 * @param window  samples, odd
 * @param order   of the polynomial, 0 ≤ order < window
 * @param options derivative, default 0, ≤ order; spacing of the samples, default 1
 * @returns `window` weights, first sample first
 * @throws {RangeError} window even, order or derivative out of range, spacing not positive
 */
export function savitzkyGolayWeights(
  window: number,
  order: number,
  {derivative = 0, spacing = 1}: {derivative?: number; spacing?: number} = {},
): Float64Array {
  requireWhole("savitzkyGolayWeights", window, "window");
  if (window % 2 === 0)
    throw new RangeError(`savitzkyGolayWeights: the window must be odd, but it is ${window}`);
  requireWhole("savitzkyGolayWeights", order, "order", 0);
  requireWhole("savitzkyGolayWeights", derivative, "derivative", 0);
  requirePositive("savitzkyGolayWeights", spacing, "spacing");
  if (order >= window || derivative > order) {
    throw new RangeError(
      `savitzkyGolayWeights: derivative ${derivative} ≤ order ${order} < window ${window} does not hold`,
    );
  }
  const half = (window - 1) / 2 || 1;
  // powers of x/half, which stay near 1
  const columns = Array.from({length: order + 1}, (_, power) =>
    Float64Array.from({length: window}, (_, i) => ((i - (window - 1) / 2) / half) ** power),
  );
  const qr = householderQr(columns);
  const inverse = invertTriangle(qr);
  let scale = 1;
  for (let k = 1; k <= derivative; k++) scale *= k / (half * spacing);
  const weights = new Float64Array(window);
  for (let k = derivative; k <= order; k++) {
    const entry = scale * inverse[derivative * qr.p + k];
    for (let i = 0; i < window; i++) weights[i] += entry * qr.q[k * window + i];
  }
  return weights;
}
