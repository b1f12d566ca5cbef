import {requireFinite, requireFraction, requireSameLength, requireWhole} from "./check.ts";
import type {Labels} from "./deals.ts";
import {DEFAULT_LEVEL} from "./interval.ts";
import {householderQr, type Term} from "./qr.ts";
import type {Random} from "./random.ts";

/** Curves of runs, one place of each after another, and the model they are compared by. */
export interface CurveSet {
  /** n runs, each with the same K places, all finite */
  curves: readonly ArrayLike<number>[];
  /** n labels that were dealt, 0 or 1 */
  labels: Labels;
  /** terms of the model beside mean and label, one value a run */
  terms?: readonly Term[];
  /** place in the deals of each run; default 0, 1, 2, … */
  places?: ArrayLike<number>;
}

/** How far the largest |t| of a curve goes by chance: dealt labels, or normal draws. */
export type ChanceSource =
  | {deals: Iterable<Labels>}
  | {
      random: Random;
      /** ≥ 100, default 4999 */
      nDraws?: number;
    };

/** Difference of two sets of curves with a band that holds at all places at once. */
export interface CurveBand {
  /** label 1 − label 0 at each place, length K */
  estimate: Float64Array;
  /** of the estimate at each place, length K; 0 where runs do not differ there beyond the model */
  standardError: Float64Array;
  df: number;
  /** estimate ± factor·standardError holds at all places together */
  factor: number;
  level: number;
  /** of "no difference anywhere" at each place: share of deals or draws whose largest |t| reaches the one there */
  adjustedP: Float64Array;
  /** deals or draws behind factor and adjustedP */
  count: number;
  method: string;
}

const DEFAULT_DRAWS = 4_999;
/** |t| of deals that are the same in exact arithmetic differ by less than this part. */
const TIE = 1e-9;
/** A place whose runs differ by less than this part of its values shows rounding, not runs. */
const ROUNDING = 1e-12;
/**
 * Share of a normal draw that each place has to itself. Few runs show too much correlation between places, and a band that trusts
 * it covers 93.4 % at 6 + 6 runs; with this share it covers what it claims.
 */
const OWN = 0.02;
/** A deal that the other terms explain up to this part of it shows no effect. */
const ALIASED = 1e-9;

/**
 * Difference of curves with a band simultaneous over their places, and p adjusted for the number looked at. The run is the
 * unit: each curve counts once, however many places it has.
 *
 * Least squares at each place. With deals, `adjustedP` is Westfall and Young's single step (Resampling-Based Multiple Testing,
 * 1993, algorithm 2.5, from memory) on the curves as they are, exact when no place has a difference; `factor` is the same quantile on what the
 * model leaves of them (C. J. F. ter Braak, in Bootstrapping and Related Techniques, 1992, 79, from memory), so that a
 * difference does not widen its own band. With draws, both come from normal curves that have the covariance the runs
 * show: each place alone is then exactly Student's, places together by the covariance as estimated.
 *
 * Wrong where runs of one arm spread much more than those of the other.
 *
 * @returns null where fewer than 2 degrees of freedom are left
 * @throws {RangeError} curves, labels or terms that do not fit, a label that the other terms explain, the dealt labels not among the deals
 */
export function curveBand(
  {curves, labels, terms = [], places}: CurveSet,
  source: ChanceSource,
  {level = DEFAULT_LEVEL}: {level?: number} = {},
): CurveBand | null {
  requireFraction("curveBand", level, "level");
  const n = curves.length;
  requireSameLength("curveBand", labels, curves, "labels and curves");
  const nPlaces = curves[0]?.length ?? 0;
  for (const curve of curves) {
    requireSameLength("curveBand", curve, {length: nPlaces}, "the curves");
    requireFinite("curveBand", curve, "curves");
  }
  const df = n - terms.length - 2;
  if (df < 2) return null;
  const others = orthonormal([new Float64Array(n).fill(1), ...terms.map(term => term.values)]);
  const label = remainderOf(others, Float64Array.from(labels));
  const square = dot(label, label);
  if (!(square > ALIASED * n)) {
    throw new RangeError(
      "curveBand: the labels that were dealt cannot be told from the other terms of the model",
    );
  }
  // rows are runs, so that a deal adds whole rows
  const rows = curves.map(curve => Float64Array.from(curve));
  const largest = rows.reduce(
    (most, row) => most.map((value, k) => Math.max(value, Math.abs(row[k]))),
    new Float64Array(nPlaces),
  );
  takeOut(others, rows);
  const total = sumOfSquares(rows);
  const estimate = new Float64Array(nPlaces);
  for (const [i, row] of rows.entries()) addRow(estimate, row, label[i] / square);
  const standardError = new Float64Array(nPlaces);
  const observed = new Float64Array(nPlaces);
  const scale = new Float64Array(nPlaces);
  const toLeft = new Float64Array(nPlaces);
  const effect = new Float64Array(nPlaces);
  for (let k = 0; k < nPlaces; k++) {
    if (!(total[k] > (ROUNDING * largest[k]) ** 2 * n)) {
      estimate[k] = 0; // nothing differs here but rounding
      continue;
    }
    const residual = Math.max(0, total[k] - estimate[k] * estimate[k] * square);
    standardError[k] = Math.sqrt(residual / df / square);
    observed[k] = Math.min(1, (Math.abs(estimate[k]) * Math.sqrt(square)) / Math.sqrt(total[k]));
    scale[k] = 1 / Math.sqrt(total[k]);
    if (residual > ROUNDING * total[k]) {
      toLeft[k] = Math.sqrt(total[k] / residual);
      effect[k] = estimate[k] / Math.sqrt(residual);
    }
  }
  for (const row of rows) for (let k = 0; k < nPlaces; k++) row[k] *= scale[k];
  const run: Scaled = {rows, label, labels, others, toLeft, effect};
  const chance =
    "deals" in source
      ? dealtMaxima(run, places ?? Uint32Array.from({length: n}, (_, i) => i), source.deals)
      : drawnMaxima(run, df, source);
  const sortedLeft = chance.left.sort();
  const share = sortedLeft[Math.min(sortedLeft.length - 1, Math.ceil(level * sortedLeft.length - TIE) - 1)];
  const sortedRaw = chance.raw.sort();
  return {
    estimate,
    standardError,
    df,
    factor: tOf(share, df),
    level,
    adjustedP: observed.map(part => chance.adjust(countFrom(sortedRaw, part * (1 - TIE)), sortedRaw.length)),
    count: sortedRaw.length,
    method: chance.method,
  };
}

interface Maxima {
  /** largest share of the sum of squares that a label explains at any place, as its root: monotone in |t| */
  raw: Float64Array;
  left: Float64Array;
  adjust(reached: number, of: number): number;
  method: string;
}

/** Curves without the other terms, each place of length 1 over the runs. */
interface Scaled {
  rows: readonly Float64Array[];
  /** labels without the other terms */
  label: Float64Array;
  labels: Labels;
  others: readonly Float64Array[];
  /** what turns a place of length 1 into one whose residuals have length 1, and the effect there; 0 where nothing is left */
  toLeft: Float64Array;
  effect: Float64Array;
}

/** Runs whose subsets are summed beforehand: 64 rows for six runs, fewer than the deals of any plan worth a band. */
const GROUP = 6;

/**
 * Largest |t| under every deal, each from the sums of a few subsets of the runs. A deal and its mirror
 * image have the same |t| and are computed once. Residuals need no rows of their own: what a deal makes of them is
 * what it makes of the curves less effect times its overlap with the labels dealt.
 */
function dealtMaxima(
  {rows, label, labels, others: terms, toLeft, effect}: Scaled,
  places: ArrayLike<number>,
  deals: Iterable<Labels>,
): Maxima {
  const n = rows.length;
  const groups = Array.from({length: Math.ceil(n / GROUP)}, (_, g) =>
    subsetSums(rows.slice(g * GROUP, (g + 1) * GROUP)),
  );
  const sums = new Float64Array(rows[0].length);
  const next = new Int8Array(n);
  const known = new Map<number, [raw: number, left: number]>();
  const largest: number[] = [];
  const largestLeft: number[] = [];
  const at = Uint32Array.from(places);
  const own = Int8Array.from(labels);
  // up to 52 runs a deal is one whole number; more cannot be listed, and a sample hardly repeats itself
  const allOnes = 2 ** n - 1;
  let seen = false;
  for (const deal of deals) {
    let isDealt = true;
    let key = 0;
    for (let i = 0; i < n; i++) {
      const dealt = deal[at[i]];
      if (dealt !== 0 && dealt !== 1) {
        throw new RangeError(`curveBand: label ${dealt} at place ${at[i]} is neither 0 nor 1`);
      }
      if (dealt !== own[i]) isDealt = false;
      next[i] = dealt;
      key = 2 * key + dealt;
    }
    seen ||= isDealt;
    if (next[0] === 1) {
      for (let i = 0; i < n; i++) next[i] = 1 - next[i];
      key = allOnes - key;
    }
    if (n > 52) key = known.size;
    let maxima = known.get(key);
    if (!maxima) {
      let square = 0;
      let overlap = 0;
      for (let i = 0; i < n; i++) {
        if (next[i] === 0) continue;
        square++;
        overlap += label[i];
      }
      for (const basis of terms) {
        let part = 0;
        for (let i = 0; i < n; i++) if (next[i] === 1) part += basis[i];
        square -= part * part;
      }
      const dealt = groups.map((subsets, g) => subsets[subsetOf(next, g * GROUP)]);
      // two groups are added up where they are looked at; more of them before
      if (dealt.length > 2) {
        sums.set(dealt[1]);
        for (const rest of dealt.slice(2)) addRow(sums, rest, 1);
      }
      const others = dealt.length === 2 ? dealt[1] : sums;
      maxima =
        square > ALIASED * n
          ? largestBoth(dealt[0], others, {toLeft, effect, overlap, root: Math.sqrt(square)})
          : [Number.NaN, Number.NaN];
      known.set(key, maxima);
    }
    if (Number.isNaN(maxima[0])) continue;
    largest.push(Math.min(1, maxima[0]));
    largestLeft.push(Math.min(1, maxima[1]));
  }
  if (!seen) {
    throw new RangeError(
      "curveBand: the labels that were dealt are not among the deals; the plan does not fit the order",
    );
  }
  return {
    raw: Float64Array.from(largest),
    left: Float64Array.from(largestLeft),
    adjust: (reached, of) => reached / of,
    method: `largest |t| over ${largest.length} re-deals`,
  };
}

/** Largest |t| of normal curves with the covariance that the runs show about the model, `df` + 1 directions a draw. */
function drawnMaxima(
  {rows, label, toLeft, effect}: Scaled,
  df: number,
  {random, nDraws = DEFAULT_DRAWS}: {random: Random; nDraws?: number},
): Maxima {
  requireWhole("curveBand", nDraws, "nDraws", 100);
  const nPlaces = toLeft.length;
  const left = rows.map((row, i) => row.map((value, k) => value * toLeft[k] - effect[k] * label[i]));
  const shared = Math.sqrt(1 - OWN);
  const own = Math.sqrt(OWN);
  const drawn = new Float64Array(nPlaces);
  const total = new Float64Array(nPlaces);
  const first = new Float64Array(nPlaces);
  const largest = new Float64Array(nDraws);
  for (let draw = 0; draw < nDraws; draw++) {
    total.fill(0);
    for (let j = 0; j <= df; j++) {
      drawn.fill(0);
      for (const row of left) addRow(drawn, row, shared * random.normal());
      for (let k = 0; k < nPlaces; k++) {
        drawn[k] += own * random.normal();
        total[k] += drawn[k] * drawn[k];
      }
      if (j === 0) first.set(drawn);
    }
    let top = 0;
    for (let k = 0; k < nPlaces; k++)
      if (toLeft[k] > 0) top = Math.max(top, (first[k] * first[k]) / total[k]);
    largest[draw] = Math.sqrt(top);
  }
  return {
    raw: largest,
    left: largest.slice(),
    adjust: (reached, of) => (reached + 1) / (of + 1),
    method: `largest |t| of ${nDraws} normal draws with the covariance of the runs`,
  };
}

/** |t| from the root of the share that the label explains. */
function tOf(part: number, df: number): number {
  const rest = 1 - part * part;
  return Math.sqrt(df / Math.max(rest, ROUNDING)) * part;
}

function orthonormal(columns: readonly ArrayLike<number>[]): Float64Array[] {
  const qr = householderQr(columns);
  if (qr.dependent !== null)
    throw new RangeError("curveBand: a term of the model cannot be told from those before it");
  return columns.map((_, j) => qr.q.slice(j * qr.n, (j + 1) * qr.n));
}

function remainderOf(basis: readonly Float64Array[], values: Float64Array): Float64Array {
  for (const column of basis) addRow(values, column, -dot(column, values));
  return values;
}

/** Takes what orthonormal columns explain out of every place of the rows. */
function takeOut(basis: readonly Float64Array[], rows: readonly Float64Array[]): void {
  const part = new Float64Array(rows[0].length);
  for (const column of basis) {
    part.fill(0);
    for (const [i, row] of rows.entries()) addRow(part, row, column[i]);
    for (const [i, row] of rows.entries()) addRow(row, part, -column[i]);
  }
}

function sumOfSquares(rows: readonly Float64Array[]): Float64Array {
  const total = new Float64Array(rows[0].length);
  for (const row of rows) for (let k = 0; k < row.length; k++) total[k] += row[k] * row[k];
  return total;
}

function dot(a: ArrayLike<number>, b: ArrayLike<number>): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i] * b[i];
  return sum;
}

function addRow(sums: Float64Array, row: Float64Array, times: number): void {
  for (let k = 0; k < sums.length; k++) sums[k] += times * row[k];
}

/** Sums of all subsets of a few rows; bit i of the place tells whether row i is in. */
function subsetSums(rows: readonly Float64Array[]): Float64Array[] {
  const sums = [new Float64Array(rows[0].length)];
  for (const row of rows) {
    for (const without of sums.slice()) {
      const sum = without.slice();
      addRow(sum, row, 1);
      sums.push(sum);
    }
  }
  return sums;
}

/** Which of the rows from `start` on carry the label, as bits. */
function subsetOf(labels: Labels, start: number): number {
  let bits = 0;
  for (let i = Math.min(labels.length, start + GROUP) - 1; i >= start; i--) bits = 2 * bits + labels[i];
  return bits;
}

/** Largest |sum| and largest |sum·toLeft − overlap·effect|, both over the root, in one pass over the two parts of the sum. */
function largestBoth(
  some: Float64Array,
  others: Float64Array,
  {toLeft, effect, overlap, root}: Pick<Scaled, "toLeft" | "effect"> & {overlap: number; root: number},
): [raw: number, left: number] {
  let raw = 0;
  let left = 0;
  for (let k = 0; k < some.length; k++) {
    const sum = some[k] + others[k];
    const rest = sum * toLeft[k] - overlap * effect[k];
    raw = Math.max(raw, Math.abs(sum));
    left = Math.max(left, Math.abs(rest));
  }
  return [raw / root, left / root];
}

/** How many of the sorted values are at least `from`. */
function countFrom(sorted: Float64Array, from: number): number {
  let [low, high] = [0, sorted.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (sorted[middle] < from) low = middle + 1;
    else high = middle;
  }
  return sorted.length - low;
}
