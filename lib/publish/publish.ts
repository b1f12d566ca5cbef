import {readFileSync} from "node:fs";
import path from "node:path";
import type {Painter} from "../draw/picture.ts";
import {startPainter} from "../draw/start-painter.ts";
import {notebookAbout} from "../notebook/about.ts";
import type {MimeBundle, Notebook, Output} from "../notebook/notebook.ts";
import {readNotebook} from "../notebook/read.ts";
import {InputError} from "../result/error.ts";
import type {ResultDocument} from "../result/result-document.ts";
import {collectData, collectRecord, type Given, resultOf} from "./collect.ts";
import {drawPictures, type Pictures, plotlyFigure} from "./figure.ts";
import {shownOf} from "./record.ts";
import {renderPage, titleOf} from "./render.ts";
import {requireVersion, runChecked, verdictLine} from "./run.ts";
import {hasOutputs, storedOutputs} from "./stored.ts";
import {writeWhole} from "./write-whole.ts";

export interface PublishOptions {
  /** path of the HTML file to write */
  out: string;
  /** run a notebook that carries outputs afresh; default false: it is published as it is. One without outputs is always run */
  run?: boolean;
  /** put the logs into the page, compressed, so that it can be computed again from itself alone; default false */
  embedData?: boolean;
  /** write the verdict as a picture too, beside the page: FILE-verdict.svg and FILE-verdict.png; default false */
  picture?: boolean;
  /** time to print on the page, as text; default none, so that the same inputs give the same bytes */
  publishedAt?: string;
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
  result: ResultDocument | null;
  /** as the notebook says it, or null */
  date: string | null;
  /** the car, as the notebook says it (metadata `car`), or null */
  car: string | null;
  /** template the notebook was made from, or null */
  template: {name: string; version: string} | null;
}

let painter: Painter | null = null;

/** One Plotly for all pages of this process; its thread does not keep the process alive. */
export function sharedPainter(): Painter {
  if (!painter) {
    painter = startPainter();
    painter.warm();
  }
  return painter;
}

/**
 * Writes a notebook as one HTML file. A notebook without outputs is run first; one that carries outputs is published as it
 * is, and its page says so, unless `run` asks for a fresh run. The same notebook, data, options and versions give the same
 * bytes. The file is written whole or not at all.
 *
 * @param file path of the notebook
 * @throws {InputError} exit code 1: a cell failed, stored outputs are out of date or a figure cannot be drawn; 2: the notebook
 *   is malformed or needs another version, a reference leads nowhere, a picture is missing, the logs cannot be embedded
 */
export async function publishNotebook(file: string, options: PublishOptions): Promise<PublishedPage> {
  const notebook = await readNotebook(file);
  requireVersion(notebook, file);
  const drawing = new Map<Output, Promise<Pictures>>();
  const given =
    hasOutputs(notebook) && !options.run
      ? storedOutputs(notebook, file)
      : await runOutputs(notebook, file, options, drawing);
  const record = collectRecord(notebook, file, given, options.publishedAt ?? null);
  const embedded = options.embedData ? collectData(record, file) : {data: [], bytes: new Uint8Array()};
  record.data = embedded.data;
  const folder = path.dirname(path.resolve(file));
  const html = await renderPage(record, {
    drawing,
    painter: sharedPainter(),
    data: embedded.bytes,
    picture(address) {
      try {
        return readFileSync(path.resolve(folder, address));
      } catch {
        return null; // told with the address by the text that asks for it
      }
    },
  });
  const result = resultOf(given.outputs)?.result ?? null;
  if (options.picture) {
    if (!result) throw noVerdict(file);
    const {verdictPng, verdictSvg} = await import("./share.ts"); // 2.5 MB, for this alone
    const beside = options.out.replace(/\.html?$/i, "");
    await writeWhole(`${beside}-verdict.svg`, verdictSvg(result, record.report));
    await writeWhole(`${beside}-verdict.png`, await verdictPng(result, record.report));
  }
  await writeWhole(options.out, html);
  const about = notebookAbout(notebook, file);
  return {
    page: options.out,
    title: titleOf(record),
    verdict: result && verdictLine(result),
    result,
    date: about.date,
    car: about.car,
    template: about.template && {name: about.template.template, version: about.template.version},
  };
}

function noVerdict(file: string): InputError {
  return new InputError(2, {
    code: "no-verdict",
    file,
    words: "the notebook ends without a result, so there is no verdict to draw",
    hint: "leave --picture out",
  });
}

/** Runs the notebook; its pictures are drawn in a thread of this process while the cells run in theirs. */
async function runOutputs(
  notebook: Notebook,
  file: string,
  {cellTimeLimitS, onCell}: PublishOptions,
  drawing: Map<Output, Promise<Pictures>>,
): Promise<Given> {
  const painter = sharedPainter();
  const shown = new Map<Output, {kept: Output; data: MimeBundle}>();
  const run = await runChecked(notebook, file, {
    cellTimeLimitS,
    onCell,
    onOutput(_cell, output) {
      const figure = "data" in output ? plotlyFigure(output.data) : null;
      if (!figure || !("data" in output)) return;
      const kept = shownOf(output);
      const pictures = drawPictures(painter, figure);
      pictures.catch(() => {}); // told when the page is put together
      shown.set(output, {kept, data: output.data});
      drawing.set(kept, pictures);
    },
  });
  return {
    outputs: run.cells.map(cell => cell.outputs.map(finalOf)),
    inputs: run.inputs,
    wasRun: true,
  };

  /** An output as the page shows it; a display that was replaced meanwhile is not the one that was drawn. */
  function finalOf(output: Output): Output {
    const early = shown.get(output);
    return early && "data" in output && early.data === output.data ? early.kept : shownOf(output);
  }
}
