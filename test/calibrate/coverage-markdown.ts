import {COVERAGE_METHODS, type CoverageRow} from "../../lib/simulate/coverage.ts";
import {NOT_PROMISED, noiseWords, planWords} from "../../lib/simulate/coverage-cases.ts";
import {coverageByPlan} from "../../lib/simulate/coverage-table.ts";

/** Between these lines DEVELOPERS.md shows the table. */
export const TABLE_START = "<!-- coverage: written by npm run calibrate -->";
export const TABLE_END = "<!-- end of coverage -->";

/** The table of coverage for DEVELOPERS.md: by plan over the noises promised, then by noise. */
export function coverageMarkdown(rows: readonly CoverageRow[]): string {
  const byPlan = coverageByPlan(rows).map(plan => {
    const cells = COVERAGE_METHODS.map(method => {
      const own = plan.methods[method];
      return own === null ? "—" : `${percent(own.worst)} (${own.width.toFixed(2)})`;
    });
    const width = plan.median_width === null ? "too few runs" : `${plan.median_width.toFixed(2)} %`;
    return `| ${[planWords(plan), width, ...cells].join(" | ")} |`;
  });
  const noises = [...new Set(rows.map(row => row.noise))];
  const byNoise = noises.map(noise => {
    const own = rows.filter(row => row.noise === noise && row.methods.t !== null);
    const sorted = own.sort((a, b) => a.methods.t!.covered - b.methods.t!.covered);
    const [least, most] = [sorted[0], sorted[sorted.length - 1]];
    const alarms = Math.max(...own.map(row => row.methods.t!.false_alarms));
    const cells = [
      noiseWords(noise),
      `${percent(least.methods.t!.covered)} (${planWords(least)}, spread ${100 * least.spread} %)`,
      percent(most.methods.t!.covered),
      percent(alarms),
      NOT_PROMISED.includes(noise) ? "no" : "yes",
    ];
    return `| ${cells.join(" | ")} |`;
  });
  return [
    "| plan | median width of t | t | studentised | randomisation | percentile | BCa |",
    "|---|---|---|---|---|---|---|",
    ...byPlan,
    "",
    "| noise | t covers at worst | at best | false alarms at most | promised |",
    "|---|---|---|---|---|",
    ...byNoise,
  ].join("\n");
}

/** A page with the table put between its two lines. */
export function withTable(page: string, rows: readonly CoverageRow[]): string {
  const [start, end] = [page.indexOf(TABLE_START), page.indexOf(TABLE_END)];
  if (start < 0 || end < start) throw new Error(`the page has no ${TABLE_START} … ${TABLE_END}`);
  return `${page.slice(0, start)}${TABLE_START}\n\n${coverageMarkdown(rows)}\n\n${page.slice(end)}`;
}

function percent(share: number): string {
  return (100 * share).toFixed(1);
}
