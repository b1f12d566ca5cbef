import {COVERAGE_METHODS, type CoverageMethod, type CoverageRow} from "./coverage.ts";
import {type CoverageCase, NOT_PROMISED} from "./coverage-cases.ts";

/** The table of coverage as it is kept: `data-demo/coverage-table.json`, written by `npm run calibrate`. */
export interface CoverageTable {
  format: "fairpull.coverage/1";
  seed: number;
  level: number;
  rows: CoverageRow[];
}

/** What a plan's intervals do at worst over the noises that they promise to cover. */
export interface PlanCoverage {
  order: CoverageCase["order"];
  runs: number;
  too_few: string | null;
  methods: Record<CoverageMethod, {worst: number; days: number; width: number} | null>;
  /** median width of the t interval under normal noise of the smaller spread, in per cent of the band time */
  median_width: number | null;
}

/** The table as JSON text, a row a line; shares have 4 digits after the point and widths 4 significant ones. */
export function coverageTableText({format, seed, level, rows}: CoverageTable): string {
  const short = (key: string, value: unknown) => {
    if (typeof value !== "number") return value;
    return key === "median_width" ? Number(value.toPrecision(4)) : Number(value.toFixed(4));
  };
  const lines = rows.map(row => JSON.stringify(row, short));
  const head = JSON.stringify({format, seed, level}).slice(0, -1);
  return `${head},"rows":[\n${lines.join(",\n")}\n]}\n`;
}

/**
 * Sums the rows of each plan up. `worst` is the smallest coverage over spreads and noises, carry-over and fitting effects left out;
 * `width` the mean ratio of the median width to that of t over the same rows.
 */
export function coverageByPlan(rows: readonly CoverageRow[]): PlanCoverage[] {
  const plans = new Map<string, CoverageRow[]>();
  for (const row of rows) {
    const key = `${row.order} ${row.runs}`;
    plans.set(key, [...(plans.get(key) ?? []), row]);
  }
  return [...plans.values()].map(own => {
    const {order, runs, too_few} = own[0];
    const promised = own.filter(({noise}) => !NOT_PROMISED.includes(noise));
    const quiet = own.filter(({noise}) => noise === "normal").sort((a, b) => a.spread - b.spread)[0];
    const methods = Object.fromEntries(
      COVERAGE_METHODS.map(method => [method, worstOf(promised, method)]),
    ) as PlanCoverage["methods"];
    return {order, runs, too_few, methods, median_width: quiet?.methods.t?.median_width ?? null};
  });
}

function worstOf(rows: readonly CoverageRow[], method: CoverageMethod) {
  const found = rows.flatMap(({methods}) => {
    const own = methods[method];
    return own && methods.t ? {...own, ratio: own.median_width / methods.t.median_width} : [];
  });
  if (found.length === 0) return null;
  const worst = found.reduce((least, one) => (one.covered < least.covered ? one : least));
  const width = found.reduce((sum, one) => sum + one.ratio, 0) / found.length;
  return {worst: worst.covered, days: worst.days, width};
}
