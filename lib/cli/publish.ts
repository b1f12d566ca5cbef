import {statSync} from "node:fs";
import path from "node:path";
import type {Command} from "commander";
import {publishIndex} from "../publish/index-page.ts";
import {type PublishedPage, publishNotebook} from "../publish/publish.ts";
import {InputError} from "../result/error.ts";
import type {PageRecord, PublishDocument} from "../result/notebook-documents.ts";
import {behindWords} from "./behind.ts";
import type {CommandIO} from "./io.ts";
import {documentText, tellError} from "./output.ts";
import {progressBar} from "./progress.ts";
import {fromFolder, secondsOption} from "./run.ts";

export interface PublishManyOptions {
  /** an HTML file for one notebook; a folder for several, or one that is there already */
  out: string;
  /** longest time one cell may take [s]; default 300 */
  cellTimeLimitS?: number;
  run?: boolean;
  embedData?: boolean;
  picture?: boolean;
  publishedAt?: string;
  onCell?: (notebook: string, done: number, total: number) => void;
}

/**
 * Publishes notebooks: one to a file, several to a folder with an `index.html`. A notebook that fails gets no page
 * and is told in the document; the others are published all the same.
 */
export async function publishNotebooks(
  files: readonly string[],
  options: PublishManyOptions,
): Promise<{document: PublishDocument; exitCode: 0 | 1 | 2}> {
  const document: PublishDocument = {format: "fairpull.publish/1", pages: []};
  const published: PublishedPage[] = [];
  let exitCode: 0 | 1 | 2 = 0;
  try {
    const toFolder = files.length > 1 || isFolder(options.out);
    const outs = toFolder ? pageFiles(files, options.out) : [options.out];
    for (const [index, file] of files.entries()) {
      try {
        const page = await publishNotebook(file, {
          out: outs[index]!,
          cellTimeLimitS: options.cellTimeLimitS,
          run: options.run,
          embedData: options.embedData,
          picture: options.picture,
          publishedAt: options.publishedAt,
          onCell: (done, total) => options.onCell?.(file, done, total),
        });
        published.push(page);
        const {date: _date, car: _car, template: _template, ...record} = page;
        document.pages.push({notebook: file, ...record});
      } catch (error) {
        if (!(error instanceof InputError)) throw error;
        document.pages.push(failedPage(file, error));
        document.error ??= error.details;
        exitCode ||= error.exitCode;
      }
    }
    if (toFolder && published.length)
      await publishIndex(published, {
        out: path.join(options.out, "index.html"),
        note: page => behindWords(page),
      });
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    document.error = error.details;
    exitCode = error.exitCode;
  }
  return {document, exitCode};
}

function failedPage(file: string, error: InputError): PageRecord {
  return {notebook: file, page: null, title: null, verdict: null, result: null, error: error.details};
}

interface PublishFlags {
  out: string;
  run?: boolean;
  embedData?: boolean;
  picture?: boolean;
  published?: string;
  cellTimeLimit?: number;
  json?: boolean;
}

/** `fairpull publish NOTEBOOK… -o FILE`: one page each. */
export function registerPublish(program: Command, io: CommandIO): void {
  program
    .command("publish")
    .description("write notebooks as HTML files that open anywhere; those without outputs are run first")
    .argument("<notebook...>", ".ipynb files")
    .requiredOption("-o, --out <path>", "the HTML file; for several notebooks a folder")
    .option("--run", "run a notebook that carries outputs afresh, instead of publishing it as it is")
    .option("--embed-data", "put the logs into the page, so that it can be verified from itself alone")
    .option("--picture", "write the verdict as a picture too, beside the page (SVG and PNG)")
    .option(
      "--published <date>",
      "a date to print on the page (default: none, so that pages are the same byte for byte)",
    )
    .option("--cell-time-limit <seconds>", "longest time one cell may take", secondsOption)
    .option("--json", "print one JSON document")
    .action(async (files: string[], options: PublishFlags) => {
      const bar = progressBar(io.stderr);
      const {document, exitCode} = await publishNotebooks(
        files.map(file => fromFolder(io, file)),
        {
          out: fromFolder(io, options.out),
          cellTimeLimitS: options.cellTimeLimit,
          run: options.run,
          embedData: options.embedData,
          picture: options.picture,
          publishedAt: options.published,
          onCell: (file, done, total) => bar.show(done / total, `${file}, cell ${done} of ${total}`),
        },
      );
      bar.clear();
      io.exitCode = exitCode;
      const errors = new Set([...document.pages.map(page => page.error), document.error]);
      for (const error of errors) if (error) tellError(io, error);
      if (options.json) io.stdout.write(documentText(document));
      else {
        for (const {page, verdict} of document.pages) {
          if (page !== null) io.stdout.write(`${page}: ${verdict ?? "published, without a verdict"}\n`);
        }
      }
    });
}

/** Names of the pages in a folder: that of the notebook, or of its folder where it is called notebook.ipynb. */
function pageFiles(files: readonly string[], folder: string): string[] {
  const names = files.map(file => {
    const name = path.basename(file, ".ipynb");
    return name === "notebook" ? path.basename(path.dirname(path.resolve(file))) : name;
  });
  const twice = names.find((name, index) => names.indexOf(name) < index);
  if (twice !== undefined) {
    throw new InputError(2, {
      code: "option",
      words: `two notebooks would become the page ${twice}.html`,
      hint: "publish them one by one, each with -o FILE",
    });
  }
  return names.map(name => path.join(folder, `${name}.html`));
}

function isFolder(file: string): boolean {
  return statSync(file, {throwIfNoEntry: false})?.isDirectory() ?? false;
}
