import {requireFinite, requireValues} from "./check.ts";
import {householderQr, invertTriangle, projections, solveTriangle} from "./qr.ts";

/** A fitted model that is not linear in its parameters. */
export interface NonlinearFit {
  /** length p */
  parameters: Float64Array;
  /** standard errors, length p; null where no degree of freedom is left */
  standardErrors: Float64Array | null;
  /** covariance by rows, p × p; null where no degree of freedom is left */
  covariance: Float64Array | null;
  /** (JᵀJ)⁻¹ by rows: the covariance over the residual variance */
  unscaledCovariance: Float64Array;
  /** y − model, length n */
  residuals: Float64Array;
  /** derivatives of the model at the solution, one column of n a parameter */
  slopes: Float64Array[];
  residualSumOfSquares: number;
  /** observations minus parameters */
  df: number;
  iterations: number;
}

export interface NonlinearOptions {
  /** typical size of a change of each parameter, for difference quotients; default 1e-3 of its start, or 1e-3 */
  scales?: ArrayLike<number>;
  /** default 200 */
  mostIterations?: number;
  /** damping of the first step; default 1000, 1e-3 saves steps where the start is good */
  firstDamping?: number;
  /** settled when a step changes no parameter by more than this part of its size or scale; default 1e-10 */
  smallStep?: number;
}

/** Default of `smallStep`. */
const SMALL_STEP = 1e-10;
/** Step of the central differences in scales: beyond rounding, inside the curvature. */
const DIFFERENCE = 1e-2;
/** Short steps first: all NIST problems held here come out from their far starts with it, and not with 1 or less. */
const FAR_START_DAMPING = 1e3;
const MOST_DAMPING = 1e12;

/**
 * Least squares of a model that is not linear in its parameters: Levenberg's and Marquardt's damped Gauss–Newton steps
 * (D. W. Marquardt, J. SIAM 11 (1963) 431), slopes by central differences, each step by QR.
 *
 * Standard errors are those of the model made straight at the solution. The NIST reference problems come out to 1e-6 from their
 * far starts. It finds the minimum near the start, which need not be the lowest.
 *
 * @param residualsOf y − model for given parameters, always of the same length n; null = the model has no value there
 * @param start       p ≤ n first guesses
 * @returns null where no minimum was reached: the model had no value, a parameter has no influence, or the steps did not settle
 * @throws {RangeError} no parameters, a start not finite, fewer residuals than parameters
 */
export function nonlinearLeastSquares(
  residualsOf: (parameters: Float64Array) => ArrayLike<number> | null,
  start: ArrayLike<number>,
  {
    scales,
    mostIterations = 200,
    firstDamping = FAR_START_DAMPING,
    smallStep = SMALL_STEP,
  }: NonlinearOptions = {},
): NonlinearFit | null {
  requireValues("nonlinearLeastSquares", start, "start values");
  if (scales) requireFinite("nonlinearLeastSquares", scales, "scales");
  const p = start.length;
  let at: Float64Array = Float64Array.from(start);
  const scale = Float64Array.from(
    {length: p},
    (_, j) => Math.abs(scales?.[j] ?? 0) || Math.abs(start[j]) * 1e-3 || 1e-3,
  );
  const valuesAt = (parameters: Float64Array): Float64Array | null => {
    const values = residualsOf(parameters);
    if (values === null) return null;
    const copy = new Float64Array(values);
    return copy.every(value => Number.isFinite(value)) ? copy : null;
  };
  let residuals = valuesAt(at);
  if (residuals === null) return null;
  const n = residuals.length;
  if (n < p)
    throw new RangeError(
      `nonlinearLeastSquares: ${p} parameters need at least as many residuals, found ${n}`,
    );
  let squares = sumOfSquares(residuals);
  let damping = firstDamping;
  const largest = new Float64Array(p); // influence of each parameter so far, so that one that fades is not let run away (MINPACK)
  for (let iteration = 1; iteration <= mostIterations; iteration++) {
    const slopes = slopesAt(valuesAt, at, scale);
    if (slopes === null) return null;
    slopes.forEach((slope, j) => {
      largest[j] = Math.max(largest[j], Math.sqrt(sumOfSquares(slope)));
    });
    let settled = false;
    for (;;) {
      const step = dampedStep(slopes, residuals, {damping, largest});
      if (step === null) return null;
      const next: Float64Array = at.map((value, j) => value + step[j]);
      const small = step.every((change, j) => Math.abs(change) <= smallStep * (Math.abs(at[j]) + scale[j]));
      const then = valuesAt(next);
      const thenSquares = then === null ? Number.POSITIVE_INFINITY : sumOfSquares(then);
      if (thenSquares <= squares) {
        [at, residuals, squares] = [next, then!, thenSquares];
        damping = Math.max(1e-14, damping / 10);
        settled = small;
        break;
      }
      if (small) {
        settled = true;
        break;
      }
      damping *= 10;
      if (damping > MOST_DAMPING) return null;
    }
    if (settled) return described(valuesAt, {at, residuals, squares, scale, iteration});
  }
  return null;
}

function described(
  valuesAt: (parameters: Float64Array) => Float64Array | null,
  {
    at,
    residuals,
    squares,
    scale,
    iteration,
  }: {at: Float64Array; residuals: Float64Array; squares: number; scale: Float64Array; iteration: number},
): NonlinearFit | null {
  const slopes = slopesAt(valuesAt, at, scale);
  const qr = slopes && householderQr(slopes);
  if (!qr || qr.dependent !== null) return null;
  const p = at.length;
  const inverse = invertTriangle(qr);
  const unscaledCovariance = new Float64Array(p * p);
  for (let j = 0; j < p; j++)
    for (let k = 0; k < p; k++)
      for (let m = Math.max(j, k); m < p; m++)
        unscaledCovariance[j * p + k] += inverse[j * p + m] * inverse[k * p + m];
  const df = residuals.length - p;
  const variance = df > 0 ? squares / df : null;
  const covariance = variance === null ? null : unscaledCovariance.map(value => value * variance);
  return {
    parameters: at,
    standardErrors: covariance && Float64Array.from({length: p}, (_, j) => Math.sqrt(covariance[j * p + j])),
    covariance,
    unscaledCovariance,
    residuals,
    slopes: slopes!,
    residualSumOfSquares: squares,
    df,
    iterations: iteration,
  };
}

/** Derivatives of the model, one column a parameter; null where it has no value beside the point. */
function slopesAt(
  valuesAt: (parameters: Float64Array) => Float64Array | null,
  at: Float64Array,
  scale: Float64Array,
): Float64Array[] | null {
  const columns: Float64Array[] = [];
  for (let j = 0; j < at.length; j++) {
    const up = at.slice();
    const down = at.slice();
    up[j] += DIFFERENCE * scale[j];
    down[j] -= DIFFERENCE * scale[j];
    const above = valuesAt(up);
    const below = valuesAt(down);
    if (above === null || below === null) return null;
    const width = up[j] - down[j];
    columns.push(above.map((value, i) => (below[i] - value) / width));
  }
  return columns;
}

/** Step that minimises |residuals − J step|² + damping Σ (largest_j step_j)²; null where a parameter has no influence. */
function dampedStep(
  slopes: readonly Float64Array[],
  residuals: Float64Array,
  {damping, largest}: {damping: number; largest: Float64Array},
): Float64Array | null {
  const n = residuals.length;
  const p = slopes.length;
  const columns = slopes.map((slope, j) => {
    const column = new Float64Array(n + p);
    column.set(slope);
    column[n + j] = Math.sqrt(damping) * largest[j];
    return column;
  });
  const qr = householderQr(columns);
  if (qr.dependent !== null) return null;
  const right = new Float64Array(n + p);
  right.set(residuals);
  return solveTriangle(qr, projections(qr, right));
}

function sumOfSquares(values: Float64Array): number {
  let sum = 0;
  for (const value of values) sum += value * value;
  return sum;
}
