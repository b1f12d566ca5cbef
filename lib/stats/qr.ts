/** One column of a linear model: its values and the name it goes by in messages. */
export interface Term {
  name: string;
  /** one value an observation */
  values: ArrayLike<number>;
}

/** Thin QR decomposition X = Q R of n × p columns. */
export interface Qr {
  n: number;
  p: number;
  /** orthonormal columns one after another: Q[i, j] = q[j·n + i] */
  q: Float64Array;
  /** upper triangle by rows: R[j, k] = r[j·p + k] */
  r: Float64Array;
  /** index of the first column that the ones before it span, or null where the rank is full */
  dependent: number | null;
}

/**
 * A column counts as spanned by those before it when what they leave of it is below this part of its length. Aliased design
 * columns leave about 1e-16; the NIST problem Filip, a hard one that still comes out, leaves 5e-8.
 */
const DEPENDENT = 1e-11;

/**
 * QR decomposition by Householder reflections (G. H. Golub and C. F. Van Loan, Matrix Computations, ch. 5), which keeps
 * twice the digits of the normal equations.
 *
 * Columns are taken in their order, without pivoting, so that a dependent one can be named. With more columns than
 * rows the first surplus column is dependent.
 *
 * @param columns p ≥ 1 columns of the same length n ≥ 1, finite
 */
export function householderQr(columns: readonly ArrayLike<number>[]): Qr {
  const p = columns.length;
  const n = columns[0].length;
  const work = columns.map(column => Float64Array.from(column));
  const reflectors: Float64Array[] = [];
  const r = new Float64Array(p * p);
  let dependent: number | null = null;
  for (let j = 0; j < p; j++) {
    const column = work[j];
    const length = norm(column, 0);
    const left = j < n ? norm(column, j) : 0;
    if (!(left > DEPENDENT * length)) {
      dependent = j;
      break;
    }
    const reflector = column.slice();
    reflector.fill(0, 0, j);
    reflector[j] += column[j] >= 0 ? left : -left; // away from cancellation
    const size = norm(reflector, j);
    for (let i = j; i < n; i++) reflector[i] /= size;
    for (let k = j; k < p; k++) {
      reflect(work[k], reflector, j);
      r[j * p + k] = work[k][j];
    }
    reflectors.push(reflector);
  }
  const q = new Float64Array(n * p);
  if (dependent === null) {
    for (let j = 0; j < p; j++) {
      const column = q.subarray(j * n, (j + 1) * n);
      column[j] = 1;
      for (let k = p - 1; k >= 0; k--) reflect(column, reflectors[k], k);
    }
  }
  return {n, p, q, r, dependent};
}

/** The part of `values` in each column of Q: Qᵀ·values. */
export function projections({n, p, q}: Qr, values: ArrayLike<number>): Float64Array {
  const result = new Float64Array(p);
  for (let j = 0; j < p; j++) {
    let sum = 0;
    for (let i = 0; i < n; i++) sum += q[j * n + i] * values[i];
    result[j] = sum;
  }
  return result;
}

/** What the columns leave of `values`: values − Q·Qᵀ·values. */
export function remainder(qr: Qr, values: ArrayLike<number>): Float64Array {
  const {n, p, q} = qr;
  const parts = projections(qr, values);
  const result = Float64Array.from(values);
  for (let j = 0; j < p; j++) for (let i = 0; i < n; i++) result[i] -= q[j * n + i] * parts[j];
  return result;
}

/** Solves R·b = right by substitution from below. */
export function solveTriangle({p, r}: Qr, right: ArrayLike<number>): Float64Array {
  const b = new Float64Array(p);
  for (let j = p - 1; j >= 0; j--) {
    let sum = right[j];
    for (let k = j + 1; k < p; k++) sum -= r[j * p + k] * b[k];
    b[j] = sum / r[j * p + j];
  }
  return b;
}

/** The inverse of R, upper triangle by rows. */
export function invertTriangle(qr: Qr): Float64Array {
  const {p} = qr;
  const inverse = new Float64Array(p * p);
  const unit = new Float64Array(p);
  for (let k = 0; k < p; k++) {
    unit.fill(0);
    unit[k] = 1;
    const column = solveTriangle(qr, unit);
    for (let j = 0; j <= k; j++) inverse[j * p + k] = column[j];
  }
  return inverse;
}

function norm(values: Float64Array, from: number): number {
  let sum = 0;
  for (let i = from; i < values.length; i++) sum += values[i] * values[i];
  return Math.sqrt(sum);
}

/** values − 2·v·(v·values) for the unit vector v, whose entries before `from` are zero. */
function reflect(values: Float64Array, v: Float64Array, from: number): void {
  let dot = 0;
  for (let i = from; i < v.length; i++) dot += v[i] * values[i];
  for (let i = from; i < v.length; i++) values[i] -= 2 * dot * v[i];
}
