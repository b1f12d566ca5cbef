import type {ReportOutcome, TestReport} from "../result/test-report.ts";
import {escapeHtml} from "./html.ts";

/** A sign beside each word, so that the outcome is seen without colour. */
const SIGNS: Record<ReportOutcome, string> = {met: "✓", "not met": "✗", "not stated": "–"};

/** The reporting checklist at the end of a page, sources named. */
export function reportHtml({items}: TestReport): string {
  const count = (outcome: ReportOutcome) => items.filter(item => item.outcome === outcome).length;
  const list = items.map(
    ({item, outcome, words, source}) =>
      `<li><span class="outcome ${outcome.replace(" ", "-")}"><span aria-hidden="true">${SIGNS[outcome]}</span> ${outcome}</span>` +
      `<div><p class="item">${escapeHtml(item)}</p><p>${escapeHtml(words)} <span class="source">${escapeHtml(source)}</span></p></div></li>`,
  );
  return (
    '<section id="report" aria-labelledby="report-title"><h2 id="report-title">What a report of a test should tell</h2>' +
    `<p>${count("met")} of ${items.length} items are met, ${count("not met")} are not, ${count("not stated")} are not stated. The list is computed from the session file and the ` +
    "result. It judges how the test is told, not the part; meeting an item is no conformity with the text that it comes from.</p>" +
    `<ul class="report">${list.join("")}</ul></section>`
  );
}
