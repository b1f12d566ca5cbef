import {createHash} from "node:crypto";
import type {Painter} from "../draw/picture.ts";
import {notebookAbout} from "../notebook/about.ts";
import {ANSWER_TAG} from "../notebook/answers.ts";
import {type Cell, codeCells, hasTag, type Output} from "../notebook/notebook.ts";
import {notebookText} from "../notebook/write.ts";
import {cardOf} from "./answer-card.ts";
import {codeCellHtml, numberOutputs, type ShownCell} from "./cell.ts";
import {type Clean, openCleaner} from "./clean.ts";
import {resultOf} from "./collect.ts";
import {drawPictures, type Pictures, plotlyFigure, undrawable} from "./figure.ts";
import {createMarkdown} from "./markdown.ts";
import {pageHtml} from "./page.ts";
import {DATA_ID, dataBlock, type PageRecord, recordBlock} from "./record.ts";
import {createReferences} from "./references.ts";

/** What a page needs beside its record. */
export interface RenderSources {
  /** pictures already drawn or under way, by output; others are drawn when they are needed */
  drawing: Map<Output, Promise<Pictures>>;
  painter: Painter;
  /** the bytes of a picture that a text shows, by its address there, or null where there is none */
  picture: (address: string) => Uint8Array | null;
  /** the logs that the page carries, one after the other */
  data: Uint8Array;
}

/** The title of a page: the notebook's own, else the name of its file. */
export function titleOf({notebook, file}: PageRecord): string {
  return notebookAbout(notebook, file).title ?? file.replace(/\.ipynb$/, "");
}

/**
 * Makes a page from its record. The same record and version of this library give the same bytes; nothing of the notebook is run.
 *
 * The addresses and hashes of the pictures that the texts show are written into `record.pictures` on the way.
 *
 * @throws {InputError} exit code 1: a figure cannot be drawn; 2: a reference leads nowhere, a picture is missing, HTML is unsafe
 */
export async function renderPage(record: PageRecord, sources: RenderSources): Promise<string> {
  const {notebook, file, outputs} = record;
  const title = titleOf(record);
  const cells: ShownCell[] = codeCells(notebook)
    .slice(0, outputs.length)
    .map((cell, index) => ({cell, number: index + 1, outputs: outputs[index]!}));
  const references = createReferences(file);
  let cleaner: Promise<Clean> | null = null;
  const clean = () => (cleaner ??= openCleaner(file));
  const markdown = createMarkdown({file, picture, references, clean});
  const found = resultOf(outputs);
  const numbers = numberOutputs(cells, references);
  const pictures = await draw(cells, sources, file);
  const context = {markdown, numbers, clean, pictures, verdict: found?.output ?? null};
  const shown = new Map(cells.map(entry => [entry.cell, entry]));
  const parts: string[] = [];
  for (const [index, cell] of notebook.cells.entries()) {
    const entry = shown.get(cell);
    if (entry) parts.push(inLesson(cell, await codeCellHtml(entry, context)));
    else if (cell.cell_type === "markdown") {
      const text = index === 0 ? withoutTitle(cell.source, title) : cell.source;
      parts.push(inLesson(cell, await markdown.render(text, cell)));
    }
  }
  const text = notebookText(notebook);
  return pageHtml({
    record,
    about: notebookAbout(notebook, file),
    title,
    verdict: found && cardOf(found.result, record.report),
    result: found?.result ?? null,
    headings: markdown.headings,
    body: parts.filter(part => part !== "").join("\n"),
    hasFigures: pictures.size > 0,
    notebook: {text, sha256: createHash("sha256").update(text).digest("hex")},
    blocks: recordBlock(record) + (record.data.length ? dataBlock(DATA_ID, sources.data) : ""),
  });

  function picture(address: string): Uint8Array | null {
    const bytes = sources.picture(address);
    if (bytes) record.pictures[address] = createHash("sha256").update(bytes).digest("hex");
    return bytes;
  }
}

/** Of a lesson: an exercise stands out, there is room to write below it, and its answer is folded. */
function inLesson(cell: Cell, html: string): string {
  if (html === "") return html;
  if (hasTag(cell, ANSWER_TAG))
    return `<details class="answer"><summary>Answer, for the instructor</summary>${html}</details>`;
  if (hasTag(cell, "exercise")) return `<div class="exercise">${html}</div>`;
  return hasTag(cell, "room") ? `<div class="room">${html}</div>` : html;
}

async function draw(
  cells: readonly ShownCell[],
  {drawing, painter}: RenderSources,
  file: string,
): Promise<Map<Output, Pictures>> {
  const pictures = new Map<Output, Pictures>();
  for (const {outputs, number} of cells) {
    for (const output of outputs) {
      const figure = "data" in output ? plotlyFigure(output.data) : null;
      if (!figure) continue;
      try {
        pictures.set(output, await (drawing.get(output) ?? drawPictures(painter, figure)));
      } catch (error) {
        throw undrawable(file, number, error);
      }
    }
  }
  return pictures;
}

/** The title stands at the top of the page already. */
function withoutTitle(source: string, title: string): string {
  const heading = /^#[ \t]+(.+?)[ \t]*#*[ \t]*(?:\n|$)/.exec(source);
  return heading?.[1] === title ? source.slice(heading[0].length) : source;
}
