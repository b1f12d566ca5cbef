import {requireFraction} from "./check.ts";
import {DealModel, type PermutationOptions, refuseForeignDeal, smallestGroup} from "./deal-model.ts";
import type {Labels} from "./deals.ts";
import {DEFAULT_LEVEL, type Interval} from "./interval.ts";
import {rejectable} from "./randomisation-interval.ts";

/** One of several measures of the same runs. */
export interface Measure extends PermutationOptions {
  /** n observations */
  values: ArrayLike<number>;
}

/** What a randomisation test of several measures says of one of them. */
export interface MeasureTest {
  /** effect of label 1 against label 0, in the unit of the measure */
  estimate: number;
  /** least squares; 0 where the model fits exactly */
  standardError: number;
  t: number;
  /** of this measure alone */
  p: number;
  /** adjusted: share of deals in which the largest |t| of all measures reaches this one's */
  pSingleStep: number;
  /** adjusted in steps from the largest |t| down, never larger than the single step */
  pStepDown: number;
}

/** A randomisation test of several measures at once. */
export interface MaxTTest {
  measures: MeasureTest[];
  /** smallest |t| that the largest of all measures stays within in at least `level` of the deals */
  critical: number;
  level: number;
  deals: number;
  /** smallest p that any outcome could give */
  floor: number;
  /** deals left out because an effect could not have been estimated under them */
  skipped: number;
}

/**
 * p-values of several measures of the same runs, adjusted so that the chance of any false alarm stays at the level they are
 * compared with.
 *
 * P. H. Westfall and S. S. Young, Resampling-Based Multiple Testing, 1993, algorithms 2.5 (single step) and 2.8 (step-down), from
 * memory; |t| of the least-squares model of each measure over the same deals, so that what the measures share is
 * counted once. As coarse as the deals are few: below 100 of them take `holm`.
 *
 * @param measures at least one; terms and places as for `permutationTest`
 * @param observed labels that were dealt, by place
 * @param deals    every deal of the plan, or a sample by lot to which the observed one was added
 * @param options  level of `critical`, default 0.95
 * @throws {RangeError} no measures, as `permutationTest`, fewer than one residual degree of freedom, level not between 0 and 1
 */
export function maxTTest(
  measures: readonly Measure[],
  observed: Labels,
  deals: Iterable<Labels>,
  {level = DEFAULT_LEVEL}: {level?: number} = {},
): MaxTTest {
  requireFraction("maxTTest", level, "level");
  const models = modelsOf("maxTTest", measures, observed);
  const m = models.length;
  const dealt = models.map(tOf);
  const order = Uint32Array.from({length: m}, (_, j) => j).sort((j, k) => dealt[k] - dealt[j]);
  const alone = new Uint32Array(m);
  const single = new Uint32Array(m);
  const step = new Uint32Array(m);
  const sizes = new Float64Array(m);
  const largest: number[] = [];
  const {probed, skipped} = visit("maxTTest", models, deals, () => {
    let top = 0;
    for (let k = m - 1; k >= 0; k--) {
      const j = order[k];
      sizes[j] = tOf(models[j]);
      top = Math.max(top, sizes[j]); // of this measure and those with a smaller |t|
      if (sizes[j] >= reach(dealt[j])) alone[j]++;
      if (top >= reach(dealt[j])) step[j]++;
    }
    for (let j = 0; j < m; j++) if (top >= reach(dealt[j])) single[j]++;
    largest.push(top);
  });
  const n = probed.length;
  const stepDown = new Float64Array(m);
  let before = 0;
  for (const j of order) {
    before = Math.max(before, step[j] / n);
    stepDown[j] = before;
  }
  const sorted = Float64Array.from(largest).sort();
  return {
    measures: models.map((model, j) => {
      const {estimate} = model;
      const standardError = standardErrorOf(model);
      return {
        estimate,
        standardError,
        t: estimate < 0 ? -dealt[j] : dealt[j],
        p: alone[j] / n,
        pSingleStep: single[j] / n,
        pStepDown: stepDown[j],
      };
    }),
    critical: sorted[Math.min(n - 1, Math.ceil(level * n - ROUNDING) - 1)],
    level,
    deals: n,
    floor: smallestGroup(probed) / n,
    skipped,
  };
}

/** Intervals that hold together. */
export interface SimultaneousIntervals {
  /** one a measure: estimate ± factor·standardError */
  intervals: Interval[];
  factor: number;
}

/**
 * Intervals of the effects on several measures that hold together, by inversion of the single-step test of `maxTTest`.
 *
 * The sets of effects which that test does not reject fill a region; the intervals are a box around it, in proportion to the
 * standard errors. Each deal is taken to be as extreme up to the farthest point of the box at which it can be, which has a closed form, so
 * the factor is an order statistic, without a grid. Holds at least at the level it names, whatever the noise and the
 * dependence of the measures, if effects are the same for every observation and labels were dealt by lot.
 *
 * @param options level asked for, default 0.95
 * @returns null where the deals are too few or leave a side open, or a model fits exactly
 * @throws {RangeError} as `maxTTest`
 */
export function simultaneousIntervals(
  measures: readonly Measure[],
  observed: Labels,
  deals: Iterable<Labels>,
  {level = DEFAULT_LEVEL}: {level?: number} = {},
): SimultaneousIntervals | null {
  requireFraction("simultaneousIntervals", level, "level");
  const models = modelsOf("simultaneousIntervals", measures, observed);
  const standardErrors = models.map(standardErrorOf);
  if (standardErrors.some(standardError => standardError === 0)) return null;
  const factors: number[] = [];
  const {probed} = visit("simultaneousIntervals", models, deals, () => {
    let farthest = 0;
    for (let j = 0; j < models.length; j++) {
      farthest = Math.max(farthest, farthestFactor(models[j], standardErrors[j]));
    }
    factors.push(farthest);
  });
  const allowed = rejectable(probed, level);
  const factor = Float64Array.from(factors).sort()[probed.length - 1 - allowed];
  if (allowed === 0 || factor === Number.POSITIVE_INFINITY) return null;
  const intervals = models.map(({estimate}, j) => ({
    low: estimate - factor * standardErrors[j],
    high: estimate + factor * standardErrors[j],
    level: 1 - allowed / probed.length,
    method: "largest |t| over re-deals, test inversion",
  }));
  return {intervals, factor};
}

/**
 * Largest v for which some effect within v standard errors of the estimate gives this deal a |t| of at least v.
 *
 * At a distance u the deal's effect explains (R − u·B)²/c of the RSS + u²·c₀ that is there; its share is largest at
 * u = −B·RSS/(R·c₀), and a |t| equal to that of the labels dealt is met where |R| + |u·B| = |u|·√(c·c₀).
 */
function farthestFactor(model: DealModel, standardError: number): number {
  const {product, square, overlap, estimate, observedSquare, df, total} = model;
  const rest = Math.abs(product - estimate * overlap);
  const along = Math.abs(overlap);
  const scale = Math.sqrt(square * observedSquare);
  if (scale - along <= SAME * scale) return Number.POSITIVE_INFINITY;
  const left = total - explained(estimate * observedSquare, observedSquare);
  if (rest > 0) {
    const best = (along * left) / (rest * observedSquare);
    const squares = explained(rest + best * along, square);
    const t = tFrom(squares, left + best * best * observedSquare - squares, df);
    if (t * standardError >= best) return t;
  }
  return rest / (scale - along) / standardError;
}

/** level·n misses a whole number by this. */
const ROUNDING = 1e-9;
/** |t| of deals that are the same in exact arithmetic differ by less than this part. */
const TIE = 1e-9;
/** A deal with this much of the largest possible overlap is the dealt one or its mirror image. */
const SAME = 1e-9;
/** A residual sum of squares below this part of the whole is the rounding of an exact fit: |t| stays finite, and the same for all such deals. */
const EXACT_FIT = 1e-14;

function modelsOf(caller: string, measures: readonly Measure[], observed: Labels): DealModel[] {
  if (measures.length === 0) throw new RangeError(`${caller}: at least one measure needed`);
  return measures.map(({values, ...options}) => {
    const model = new DealModel(caller, values, observed, options);
    if (model.df < 1) {
      throw new RangeError(
        `${caller}: ${values.length} observations leave no degree of freedom for a spread`,
      );
    }
    return model;
  });
}

/** Takes each deal into every model; what each made of fixed numbers, and how many deals were left out. */
function visit(
  caller: string,
  models: readonly DealModel[],
  deals: Iterable<Labels>,
  each: () => void,
): {probed: number[]; skipped: number} {
  const probed: number[] = [];
  let skipped = 0;
  let seen = false;
  for (const deal of deals) {
    if (!models.every(model => model.take(deal))) {
      skipped++;
      continue;
    }
    seen ||= models.every(model => model.isObserved(deal));
    probed.push(models[0].probed);
    each();
  }
  if (!seen) refuseForeignDeal(caller);
  return {probed, skipped};
}

/** Smallest |t| that counts as reaching this one. */
function reach(t: number): number {
  return t * (1 - TIE);
}

function explained(product: number, square: number): number {
  return (product * product) / square;
}

/** |t| from the sum of squares that the label explains and the one it leaves. */
function tFrom(squares: number, residual: number, df: number): number {
  const total = squares + residual;
  return total > 0 ? Math.sqrt((df * squares) / Math.max(residual, EXACT_FIT * total)) : 0;
}

/** |t| under the deal taken last. */
function tOf(model: DealModel): number {
  const squares = explained(model.product, model.square);
  return tFrom(squares, model.total - squares, model.df);
}

/** Standard error under the labels that were dealt, whatever deal was taken last. */
function standardErrorOf({estimate, observedSquare, total, df}: DealModel): number {
  const left = total - estimate * estimate * observedSquare;
  return left > EXACT_FIT * total ? Math.sqrt(left / df / observedSquare) : 0;
}
