import {createHash} from "node:crypto";
import path from "node:path";
import type {Painter} from "../draw/picture.ts";
import {startPainter} from "../draw/start-painter.ts";
import {compilerVersion} from "../kernel/tslab.ts";
import {type NotebookAbout, notebookAbout} from "../notebook/about.ts";
import type {Notebook, Output} from "../notebook/notebook.ts";
import {readNotebook} from "../notebook/read.ts";
import {notebookText, stripped} from "../notebook/write.ts";
import type {JudgeDocument} from "../result/documents.ts";
import {VERSION} from "../result/version.ts";
import {verdictCard} from "./card.ts";
import {type CellContext, codeCellHtml, numberOutputs} from "./cell.ts";
import {type Clean, openCleaner} from "./clean.ts";
import {drawPictures, type Pictures, plotlyFigure, undrawable} from "./figure.ts";
import {createMarkdown} from "./markdown.ts";
import {pageHtml} from "./page.ts";
import type {Provenance} from "./provenance.ts";
import {createReferences} from "./references.ts";
import {type CheckedRun, runChecked, verdictLine} from "./run.ts";
import {writeWhole} from "./write-whole.ts";

export interface PublishOptions {
  /** path of the HTML file to write */
  out: string;
  /** longest time one cell may take [s]; default 300 */
  cellTimeLimitS?: number;
  /** called after every cell, for a progress bar */
  onCell?: (done: number, total: number) => void;
}

/** One page that was written. */
export interface PublishedPage {
  /** path of the file written */
  page: string;
  title: string;
  /** the verdict in one line, or null where the notebook ends without one */
  verdict: string | null;
  /** the notebook's result document, or null */
  result: JudgeDocument | null;
}

let painter: Painter | null = null;

/**
 * Runs a notebook afresh and writes it as one HTML file. What the notebook file stores of earlier runs is not used. The
 * same notebook, data and versions give the same bytes. The file is written whole or not at all.
 *
 * @param file path of the notebook
 * @throws {InputError} exit code 1: a cell failed or a figure cannot be drawn; 2: the notebook is malformed, a reference leads nowhere, a picture is missing
 */
export async function publishNotebook(file: string, options: PublishOptions): Promise<PublishedPage> {
  const notebook = await readNotebook(file);
  const about = notebookAbout(notebook, file);
  if (!painter) {
    painter = startPainter(); // one Plotly for all pages of this process; its thread does not keep the process alive
    painter.warm();
  }
  const drawing = new Map<Output, Promise<Pictures>>();
  const run = await runChecked(notebook, file, {
    cellTimeLimitS: options.cellTimeLimitS,
    onCell: options.onCell,
    onOutput(_cell, output) {
      const figure = "data" in output ? plotlyFigure(output.data) : null;
      if (!figure) return;
      const pictures = drawPictures(painter!, figure);
      pictures.catch(() => {}); // told when the page is put together
      drawing.set(output, pictures);
    },
  });
  const pictures = await allDrawn(drawing, run, file);
  const title = about.title ?? path.basename(file, ".ipynb");
  await writeWhole(options.out, await render(notebook, about, title, run, pictures, file));
  return {
    page: options.out,
    title,
    verdict: run.result && verdictLine(run.result),
    result: run.result,
  };
}

async function allDrawn(
  drawing: ReadonlyMap<Output, Promise<Pictures>>,
  run: CheckedRun,
  file: string,
): Promise<Map<Output, Pictures>> {
  const pictures = new Map<Output, Pictures>();
  for (const [output, picture] of drawing) {
    try {
      pictures.set(output, await picture);
    } catch (error) {
      const cell = run.cells.find(entry => entry.outputs.includes(output));
      throw undrawable(file, cell?.number ?? 0, error);
    }
  }
  return pictures;
}

async function render(
  notebook: Notebook,
  about: NotebookAbout,
  title: string,
  run: CheckedRun,
  pictures: ReadonlyMap<Output, Pictures>,
  file: string,
): Promise<string> {
  const folder = path.dirname(path.resolve(file));
  const references = createReferences(file);
  let cleaner: Promise<Clean> | null = null;
  const clean = () => (cleaner ??= openCleaner(file));
  const markdown = createMarkdown({file, folder, references, clean});
  const numbers = numberOutputs(run.cells, references);
  const context: CellContext = {markdown, numbers, clean, pictures, verdict: run.verdict};
  const runs = new Map(run.cells.map(entry => [entry.cell, entry]));
  const parts: string[] = [];
  for (const [index, cell] of notebook.cells.entries()) {
    const cellRun = runs.get(cell);
    if (cellRun) parts.push(await codeCellHtml(cellRun, context));
    else if (cell.cell_type === "markdown") {
      const text = index === 0 ? withoutTitle(cell.source, title) : cell.source;
      parts.push(await markdown.render(text, cell));
    }
  }
  return pageHtml({
    about,
    title,
    verdict: run.result && verdictCard(run.result),
    headings: markdown.headings,
    body: parts.filter(part => part !== "").join("\n"),
    hasFigures: pictures.size > 0,
    provenance: provenanceOf(notebook, run, file),
  });
}

/** The title stands at the top of the page already. */
function withoutTitle(source: string, title: string): string {
  const heading = /^#[ \t]+(.+?)[ \t]*#*[ \t]*(?:\n|$)/.exec(source);
  return heading?.[1] === title ? source.slice(heading[0].length) : source;
}

function provenanceOf(notebook: Notebook, {result, inputs}: CheckedRun, file: string): Provenance {
  const sha256 = createHash("sha256")
    .update(notebookText(stripped(notebook)))
    .digest("hex");
  // The result names its files as its session does; what the run recorded are the same files, named from the notebook.
  const recorded = new Set(inputs.map(input => input.sha256));
  const others = (result?.inputs ?? []).filter(input => !recorded.has(input.sha256));
  return {
    notebook: {file: `${path.basename(file)} without outputs`, sha256},
    inputs: [...inputs, ...others],
    versions: {
      fairpull: VERSION,
      ...result?.versions,
      node: process.versions.node,
      TypeScript: compilerVersion(),
    },
    seed: result?.seed ?? null,
  };
}
