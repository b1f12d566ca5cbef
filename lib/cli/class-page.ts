import {classPicture} from "../figures/class-picture.ts";
import {DISPLAY} from "../figures/display.ts";
import {table} from "../figures/table.ts";
import {stateWords} from "../publish/card.ts";
import {drawPictures, figureHtml, type Pictures, plotlyFigure} from "../publish/figure.ts";
import {escapeHtml} from "../publish/html.ts";
import {document} from "../publish/page.ts";
import {sharedPainter} from "../publish/publish.ts";
import {PAGE_CSS} from "../publish/style.ts";
import {tableHtml} from "../publish/table.ts";
import type {CollectDocument, CollectedTable} from "../result/workshop-documents.ts";

/** What marks a page as one of `collect`, so that collecting again may replace it and nothing else. */
export const CLASS_PAGE = "<title>fairpull: the class picture</title>";

/** The class picture as one HTML file: what was found in a sentence, the picture, the table, what does not count. */
export async function classPage(document_: Omit<CollectDocument, "error">): Promise<string> {
  const {tables, problems, level} = document_;
  const figure = plotlyFigure(classPicture(tables, {level})[DISPLAY]!())!;
  const pictures: Pictures = await drawPictures(sharedPainter(), figure);
  const main =
    '<main id="content"><header><p class="kicker">fairpull · workshop</p><h1>What the class found, and what was true</h1></header>' +
    summaryWords(document_)
      .map(words => `<p class="lead">${escapeHtml(words)}</p>`)
      .join("") +
    figureHtml(figure, pictures, {kind: "Figure", number: 1, anchor: "class"}) +
    tableHtml(classTable(tables), {kind: "Table", number: 1, anchor: "tables"}) +
    (problems.length === 0
      ? ""
      : `<h2>What does not count</h2><ul>${problems.map(({words}) => `<li>${escapeHtml(words)}</li>`).join("")}</ul>`) +
    "</main>";
  return document({
    title: "fairpull: the class picture",
    css: `${PAGE_CSS}\n.lead{font-size:1.25rem;line-height:1.45}`,
    description: "Every table's interval against the truth of its part.",
    main,
    data: "",
    script: "",
  });
}

/** What the counts say, in sentences. */
export function summaryWords({summary, level}: Pick<CollectDocument, "summary" | "level">): string[] {
  if (summary === null || summary.verdicts === 0) return ["No table has handed in a verdict that counts."];
  const {tables, verdicts, intervals, covered, null_verdicts, null_shown, other_verdicts, other_shown} =
    summary;
  const percent = `${Number((100 * level).toFixed(3))} %`;
  return [
    `${verdicts} of ${tables} tables handed in. ${covered} of ${intervals} intervals hold the truth; ${percent} of them is what they promise in the long run.`,
    `${null_verdicts} ${null_verdicts === 1 ? "part does" : "parts do"} nothing, and ${null_shown} of these ${null_shown === 1 ? "was" : "were"} called shown. ${other_verdicts} ${other_verdicts === 1 ? "part does" : "parts do"} something, and ${other_shown} of these ${other_shown === 1 ? "was" : "were"} shown, on the right side of zero.`,
  ];
}

function classTable(tables: readonly CollectedTable[]) {
  const print = (value: number) => value.toFixed(3).replace("-", "−");
  return table({
    id: "tables",
    caption: "What each table said and what was true, changed − baseline.",
    columns: [
      {title: "table", align: "right"},
      {title: "verdict", align: "left"},
      {title: "holds the truth", align: "left"},
      {title: "truth", unit: "s", align: "right"},
      {title: "estimate", unit: "s", align: "right"},
      {title: "interval", unit: "s", align: "right"},
      {title: "left out", align: "right"},
    ],
    rows: tables.map(({table: number, truth, verdict}) => {
      if (verdict === null) return [number, "none yet", null, "sealed", null, null, null];
      const {interval, estimate, covered, excluded, state} = verdict;
      return [
        number,
        stateWords(state),
        covered === null ? null : covered ? "yes" : "no",
        print(truth),
        estimate === null ? null : print(estimate),
        interval && `${print(interval.low)} to ${print(interval.high)}`,
        excluded,
      ];
    }),
  });
}
