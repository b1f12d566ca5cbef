import type {ReportOutcome, TestReport} from "../result/test-report.ts";
import {escapeHtml} from "./html.ts";

/** A sign beside each word, so that the outcome is seen without colour. */
const SIGNS: Record<ReportOutcome, string> = {met: "✓", "not met": "✗", "not stated": "–"};

/** The reporting checklist at the end of a page, sources named. */
export function reportHtml({items}: TestReport): string {
  const count = (outcome: ReportOutcome) => items.filter(item => item.outcome === outcome).length;
  const rows = items.map(
    ({item, outcome, words, source}) =>
      `<tr><td>${escapeHtml(item)}</td><td class="word"><span aria-hidden="true">${SIGNS[outcome]}</span> ${outcome}</td>` +
      `<td>${escapeHtml(words)}</td><td>${escapeHtml(source)}</td></tr>`,
  );
  return (
    '<section id="report" aria-labelledby="report-title"><h2 id="report-title">What a report of a test should tell</h2>' +
    `<p>${count("met")} of ${items.length} items are met, ${count("not met")} are not, ${count("not stated")} are not stated. The list is computed from the session file and the ` +
    "result. It judges how the test is told, not the part, and meeting an item is no conformity with the text that it comes from.</p>" +
    '<div class="scroll" role="group" aria-label="Reporting checklist" tabindex="0"><table>' +
    "<caption>Reporting checklist, from published procedures for vehicle tests and for trials of one subject.</caption>" +
    '<thead><tr><th scope="col">item</th><th scope="col">outcome</th><th scope="col">here</th><th scope="col">asked for by</th></tr></thead>' +
    `<tbody>${rows.join("")}</tbody></table></div></section>`
  );
}
