import {requireFinite, requireSameLength, requireValues} from "./check.ts";
import {plainMean} from "./summary.ts";

/** Uncertain numbers that may hang together. */
export interface Correlated {
  /** m values */
  values: Float64Array;
  /** their covariance by rows, m × m */
  covariance: Float64Array;
}

/** Correlated numbers with what is read off their covariance. */
export interface Propagated extends Correlated {
  /** square roots of the diagonal, length m */
  standardUncertainties: Float64Array;
  /** correlation by rows, m × m; 0 beside a number without uncertainty */
  correlation: Float64Array;
}

/** Step of the differences in standard uncertainties of the input: outside rounding, inside the curvature. */
const STEP = 1e-3;

/**
 * Means of series that were observed together, with the covariance of these means.
 *
 * @param series m series of the same length n ≥ 2
 * @throws {RangeError} no series, different lengths, fewer than 2 values, one not finite
 */
export function meansOfSeries(series: readonly ArrayLike<number>[]): Correlated {
  if (series.length === 0) throw new RangeError("meansOfSeries: at least one series needed");
  const n = series[0].length;
  for (const values of series) {
    requireSameLength("meansOfSeries", values, series[0], "the series");
    requireValues("meansOfSeries", values, "values", 2);
  }
  const m = series.length;
  const means = Float64Array.from(series, plainMean);
  const covariance = new Float64Array(m * m);
  for (let j = 0; j < m; j++) {
    for (let k = 0; k < m; k++) {
      let products = 0;
      for (let i = 0; i < n; i++) products += (series[j][i] - means[j]) * (series[k][i] - means[k]);
      covariance[j * m + k] = products / (n - 1) / n;
    }
  }
  return {values: means, covariance};
}

/**
 * Law of propagation of uncertainty for any number of outputs, with correlation (JCGM 100:2008, eq. 13, and its
 * matrix form in JCGM 102:2011).
 *
 * First order: the model is taken as straight over the uncertainty of its inputs. Slopes are central differences over
 * a thousandth of each standard uncertainty, off by about 1e-7 relative for models that bend over a hundred of them.
 *
 * @param model  outputs from inputs, in the same order every time
 * @param inputs m values and their covariance
 * @throws {RangeError} a value or output not finite, a covariance that is not m × m or has a negative diagonal
 */
export function propagateUncertainty(
  model: (inputs: Float64Array) => ArrayLike<number>,
  {values: inputs, covariance: given}: {values: ArrayLike<number>; covariance: ArrayLike<number>},
): Propagated {
  const caller = "propagateUncertainty";
  requireValues(caller, inputs, "inputs");
  const m = inputs.length;
  requireSameLength(caller, given, {length: m * m}, "the covariance and the squared number of inputs");
  requireFinite(caller, given, "covariance");
  const at = Float64Array.from(inputs);
  const values = Float64Array.from(model(at.slice()));
  requireFinite(caller, values, "outputs");
  const outputs = values.length;
  const slopes = new Float64Array(outputs * m);
  for (let j = 0; j < m; j++) {
    const variance = given[j * m + j];
    if (variance < 0) throw new RangeError(`${caller}: the variance of input ${j} is negative, ${variance}`);
    if (variance === 0) continue;
    const step = STEP * Math.sqrt(variance);
    const up = at.slice();
    const down = at.slice();
    up[j] += step;
    down[j] -= step;
    const above = model(up);
    const below = model(down);
    for (let i = 0; i < outputs; i++) slopes[i * m + j] = (above[i] - below[i]) / (up[j] - down[j]);
  }
  requireFinite(caller, slopes, "slopes");
  return described(values, sandwich(slopes, given, {outputs, inputs: m}));
}

/** slopes · covariance · slopesᵀ */
function sandwich(
  slopes: Float64Array,
  covariance: ArrayLike<number>,
  {outputs, inputs}: {outputs: number; inputs: number},
): Float64Array {
  const result = new Float64Array(outputs * outputs);
  for (let i = 0; i < outputs; i++) {
    for (let k = 0; k < outputs; k++) {
      let sum = 0;
      for (let j = 0; j < inputs; j++) {
        for (let l = 0; l < inputs; l++) {
          sum += slopes[i * inputs + j] * covariance[j * inputs + l] * slopes[k * inputs + l];
        }
      }
      result[i * outputs + k] = sum;
    }
  }
  return result;
}

function described(values: Float64Array, covariance: Float64Array): Propagated {
  const n = values.length;
  const standardUncertainties = Float64Array.from(values, (_, i) =>
    Math.sqrt(Math.max(0, covariance[i * n + i])),
  );
  const correlation = covariance.map((value, at) => {
    const size = standardUncertainties[Math.floor(at / n)] * standardUncertainties[at % n];
    return size > 0 ? value / size : 0;
  });
  return {values, covariance, standardUncertainties, correlation};
}
