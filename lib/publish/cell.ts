import hljs from "highlight.js/lib/core";
import typescript from "highlight.js/lib/languages/typescript";
import type {Cell, MimeBundle, Output} from "../notebook/notebook.ts";
import {RESULT_MIME} from "./card.ts";
import type {Clean} from "./clean.ts";
import {figureHtml, type Pictures, plotlyFigure} from "./figure.ts";
import {escapeHtml} from "./html.ts";
import type {PageMarkdown} from "./markdown.ts";
import {formulaHtml} from "./math.ts";
import {isProse, PICTURE_TYPES} from "./record.ts";
import type {Numbered, References} from "./references.ts";
import {tableHtml, tableSpec} from "./table.ts";

hljs.registerLanguage("typescript", typescript);

/** A code cell with what the page shows of its outputs. */
export interface ShownCell {
  cell: Cell;
  /** place among the code cells, from 1 */
  number: number;
  outputs: readonly Output[];
}

/** What rendering the cells of one page needs. */
export interface CellContext {
  markdown: PageMarkdown;
  /** number of each output that is a figure or a table */
  numbers: ReadonlyMap<Output, Numbered>;
  clean: () => Promise<Clean>;
  /** the pictures of each output that is a figure */
  pictures: ReadonlyMap<Output, Pictures>;
  /** the output whose verdict is the page's card, or null */
  verdict: Output | null;
}

/** Numbers every figure and table in the order of the page, before any text refers to one. */
export function numberOutputs(runs: readonly ShownCell[], references: References): Map<Output, Numbered> {
  const numbers = new Map<Output, Numbered>();
  for (const output of runs.flatMap(run => run.outputs)) {
    if (!("data" in output)) continue;
    const figure = plotlyFigure(output.data);
    const table = figure ? null : tableSpec(output.data);
    if (figure) numbers.set(output, references.add("Figure", figure.id));
    else if (table) numbers.set(output, references.add("Table", table.id));
  }
  return numbers;
}

/** A code cell of the page: its code, folded, and its outputs. Of a cell tagged `prose` only the outputs are shown. */
export async function codeCellHtml(run: ShownCell, context: CellContext): Promise<string> {
  const outputs: string[] = [];
  for (const output of run.outputs) outputs.push(await outputHtml(output, run, context));
  const shown = outputs.join("");
  if (isProse(run.cell)) return shown;
  return codeHtml(run.cell.source, run.number) + shown;
}

function codeHtml(source: string, number: number): string {
  const code = hljs.highlight(source, {language: "typescript"}).value;
  return (
    `<details class="code"><summary>Code of cell ${number}</summary>` +
    `<button type="button" class="copy" hidden>Copy</button>` +
    `<pre tabindex="0" role="region" aria-label="Code of cell ${number}"><code>${code}</code></pre></details>`
  );
}

async function outputHtml(output: Output, run: ShownCell, context: CellContext): Promise<string> {
  switch (output.output_type) {
    case "stream": {
      const label = output.name === "stderr" ? '<p class="note">Written to standard error:</p>' : "";
      return `${label}<pre class="text ${output.name}">${escapeHtml(plain(output.text))}</pre>`;
    }
    case "error":
      return (
        '<p class="note">This error is meant to be here:</p>' +
        `<pre class="text error">${escapeHtml(plain(output.traceback.join("\n")))}</pre>`
      );
    default:
      return bundleHtml(output, output.data, run, context);
  }
}

/** The richest form of a bundle that the page can show by itself. */
async function bundleHtml(
  output: Output,
  data: MimeBundle,
  run: ShownCell,
  context: CellContext,
): Promise<string> {
  const text = (type: string) => (typeof data[type] === "string" ? (data[type] as string) : null);
  const figure = plotlyFigure(data);
  const pictures = context.pictures.get(output);
  const number = context.numbers.get(output);
  if (figure && pictures && number) return figureHtml(figure, pictures, number);
  const table = tableSpec(data);
  if (table && number) return tableHtml(table, number);
  if (RESULT_MIME in data && output === context.verdict) {
    return '<p class="note">The <a href="#verdict">verdict</a> stands at the top of this page.</p>';
  }
  const markdown = text("text/markdown");
  if (markdown !== null) return context.markdown.render(markdown, run.cell);
  const html = text("text/html");
  if (html !== null) {
    const clean = await context.clean();
    return `<div class="scroll html" role="group" aria-label="Output of cell ${run.number}" tabindex="0">${clean(html, run.cell.id)}</div>`;
  }
  for (const type of PICTURE_TYPES) {
    const content = text(type);
    if (content === null) continue;
    const encoded =
      type === "image/svg+xml" ? Buffer.from(content).toString("base64") : content.replace(/\s/g, "");
    const alt = text("text/plain") ?? `Picture of cell ${run.number}`;
    return `<img alt="${escapeHtml(alt)}" src="data:${type};base64,${escapeHtml(encoded)}">`;
  }
  const latex = text("text/latex");
  if (latex !== null) return `<p>${formulaHtml(latex.replace(/^\$+|\$+$/g, ""), true)}</p>`;
  const words = text("text/plain") ?? JSON.stringify(data, null, 1);
  return `<pre class="text">${escapeHtml(plain(words))}</pre>`;
}

/** Text without the colour codes of a terminal. */
function plain(text: string): string {
  return text.replace(/\u001b\[[0-9;?]*[A-Za-z]/g, "");
}
