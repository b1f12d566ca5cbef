import {createHash} from "node:crypto";
import type {NotebookAbout} from "../notebook/about.ts";
import type {ResultDocument} from "../result/result-document.ts";
import {escapeHtml} from "./html.ts";
import {interactiveBundle, PAGE_SCRIPT} from "./interactive.ts";
import type {Heading} from "./markdown.ts";
import {mathCss} from "./math.ts";
import {type Embedded, provenanceHtml} from "./provenance.ts";
import type {PageRecord} from "./record.ts";
import {reportHtml} from "./report-table.ts";
import {PAGE_CSS} from "./style.ts";

/** The parts of a write-up. */
export interface PageParts {
  record: PageRecord;
  about: NotebookAbout;
  title: string;
  /** HTML of the verdict, or null where the notebook has no result */
  verdict: string | null;
  result: ResultDocument | null;
  headings: readonly Heading[];
  /** HTML of the cells */
  body: string;
  hasFigures: boolean;
  /** the notebook without outputs, as a file */
  notebook: {text: string; sha256: string};
  /** data blocks from which the page can be computed again */
  blocks: string;
}

const NOT_RUN =
  '<p class="callout warning" role="note">The notebook was not run for this page: text, figures and numbers are those that it carried.</p>';

/** A whole write-up as one HTML file that asks for nothing else. */
export function pageHtml(parts: PageParts): string {
  const {record, about, title, verdict, result, headings, body, hasFigures, notebook, blocks} = parts;
  const formulas = mathCss(body);
  const embedded: Embedded[] = [
    ...(hasFigures ? ["plotly" as const] : []),
    ...(formulas ? ["katex" as const] : []),
  ];
  const {template} = about;
  const by = [
    about.authors.join(", "),
    about.date,
    about.car,
    template && `notebook ${template.template} ${template.version}`,
    about.licence && `licence ${about.licence}`,
    record.publishedAt && `published ${record.publishedAt}`,
  ].filter(Boolean);
  const contents = headings.filter(heading => heading.level === 2);
  const main = [
    `<header><p class="kicker">fairpull · write-up of a road test</p><h1>${escapeHtml(title)}</h1>`,
    by.length ? `<p class="by">${escapeHtml(by.join(" · "))}</p>` : "",
    "</header>",
    record.wasRun ? "" : NOT_RUN,
    verdict ?? "",
    about.abstract === null ? "" : `<p class="abstract">${escapeHtml(about.abstract)}</p>`,
    contents.length > 1 ? contentsHtml(contents) : "",
    '<p class="tools"><button type="button" id="all-code" aria-pressed="false" hidden>Show all code</button></p>',
    body,
    record.report === null ? "" : reportHtml(record.report),
  ];
  return document({
    title,
    css: formulas + PAGE_CSS,
    description: about.abstract,
    main: `<main id="content">${main.filter(part => part !== "").join("\n")}</main>\n${provenanceHtml(record, notebook, result, embedded)}`,
    data: (hasFigures ? interactiveBundle() : "") + blocks,
    script: PAGE_SCRIPT,
  });
}

interface DocumentParts {
  title: string;
  css: string;
  description: string | null;
  main: string;
  /** data blocks that the script reads */
  data: string;
  script: string;
}

/** The HTML around the content: its policy lets nothing in from outside and only our own script run. */
export function document({title, css, description, main, data, script}: DocumentParts): string {
  const hash = createHash("sha256").update(script).digest("base64");
  const scripts = script === "" ? "" : ` script-src 'sha256-${hash}' blob:;`;
  const policy =
    `default-src 'none'; img-src data: blob:; font-src data:; style-src 'unsafe-inline';${scripts} ` +
    "base-uri 'none'; form-action 'none'";
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${policy}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
${description === null ? "" : `<meta name="description" content="${escapeHtml(description)}">\n`}<title>${escapeHtml(title)}</title>
<link rel="icon" href="data:,">
<style>${css}</style>
</head>
<body>
<a class="skip" href="#content">To the text</a>
<div class="page">
${main}
</div>
${data}
${script === "" ? "" : `<script>${script}</script>\n`}</body>
</html>
`;
}

function contentsHtml(headings: readonly Heading[]): string {
  const items = headings.map(({id, title}) => `<li><a href="#${id}">${escapeHtml(title)}</a></li>`);
  return `<nav id="contents" aria-labelledby="contents-title"><h2 id="contents-title">Contents</h2><ol>${items.join("")}</ol></nav>`;
}
