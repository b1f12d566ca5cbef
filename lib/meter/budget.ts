import {normalQuantile, studentTQuantile} from "../stats/distributions.ts";
import {DEFAULT_LEVEL, type Interval} from "../stats/interval.ts";
import {welchSatterthwaite} from "../stats/two-sample.ts";

/** One line of an uncertainty budget. */
export interface BudgetLine {
  /** what it comes from; lines of the same source in two results are the same error, not two */
  source: string;
  /** where the number comes from, in words */
  words: string;
  /** sensitivity times standard uncertainty, with the sign of the sensitivity, in the unit of the result */
  contribution: number;
  /** degrees of freedom; Infinity for limits that a maker states */
  df: number;
}

/** A value with its budget after the GUM. */
export interface Uncertain {
  value: number;
  standardUncertainty: number;
  /** effective degrees of freedom, Infinity where every line is a stated limit */
  df: number;
  /** value ± expanded uncertainty; null where the budget is empty or all zero */
  interval: Interval | null;
  /** one line a source, largest first */
  budget: BudgetLine[];
}

/**
 * Standard uncertainty, effective degrees of freedom and expanded uncertainty of a value from its budget (JCGM
 * 100:2008, eq. 10 and G.2b). Lines of one source are added with their signs before anything is squared, so that
 * an error common to two readings cancels or adds as it does at the bench.
 *
 * The interval takes the sum as normal or Student's; where one rectangular limit rules it is up to 19 % too wide.
 *
 * @throws {RangeError} a contribution not finite, degrees of freedom not positive, level not between 0 and 1
 */
export function withBudget(
  value: number,
  lines: readonly BudgetLine[],
  {level = DEFAULT_LEVEL}: {level?: number} = {},
): Uncertain {
  const bySource = new Map<string, BudgetLine>();
  for (const line of lines) {
    if (!Number.isFinite(line.contribution)) {
      throw new RangeError(`withBudget: the contribution of ${line.source} is ${line.contribution}`);
    }
    const same = bySource.get(line.source);
    bySource.set(line.source, same ? {...same, contribution: same.contribution + line.contribution} : line);
  }
  const budget = [...bySource.values()].sort((a, b) => Math.abs(b.contribution) - Math.abs(a.contribution));
  const parts = budget.map(({contribution, df}) => ({standardError: Math.abs(contribution), df}));
  const df = parts.length > 0 ? welchSatterthwaite(parts) : null;
  if (df === null)
    return {value, standardUncertainty: 0, df: Number.POSITIVE_INFINITY, interval: null, budget};
  const standardUncertainty = Math.hypot(...budget.map(line => line.contribution));
  const tail = (1 + level) / 2;
  const coverage = df === Number.POSITIVE_INFINITY ? normalQuantile(tail) : studentTQuantile(tail, df);
  const interval = {
    low: value - coverage * standardUncertainty,
    high: value + coverage * standardUncertainty,
    level,
    method: "expanded uncertainty, Student's t with effective degrees of freedom",
  };
  return {value, standardUncertainty, df, interval, budget};
}

/** Standard uncertainty of a number known to lie within ± `halfWidth`, nothing else known (JCGM 100:2008, 4.3.7). */
export function rectangular(halfWidth: number): number {
  return halfWidth / Math.sqrt(3);
}
