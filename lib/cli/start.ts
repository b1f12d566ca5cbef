import {mkdirSync} from "node:fs";
import {join} from "node:path";
import {parseArgs} from "node:util";
import {publishIndex} from "../publish/index-page.ts";
import {type PublishedPage, publishNotebook} from "../publish/publish.ts";
import {notebookNames} from "../templates/store.ts";
import {behindWords} from "./behind.ts";
import {progressBar, type Terminal} from "./progress.ts";

/** The two jobs of lib/publish that `start` needs; a test puts others in their place. */
export interface Publishing {
  publishNotebook: typeof publishNotebook;
  publishIndex: typeof publishIndex;
}

export interface StartOptions {
  /** folder with notebooks/ */
  root: string;
  /** names of notebooks to run (all if none), `--out FOLDER` */
  args: readonly string[];
  /** folder for the pages, unless `--out` names another */
  out: string;
  stdout: Terminal;
  stderr: Terminal;
}

/**
 * `npm start`: runs every notebook on its demo data, writes a page for each and an index, and prints each verdict in one line.
 *
 * A notebook that fails is told in words; the others still run and get their pages.
 *
 * @returns exit code: 0 = every notebook ran, 1 = one failed or there is none, 2 = wrong arguments
 */
export async function start(
  {root, args, out: usualOut, stdout, stderr}: StartOptions,
  publishing: Publishing = {publishNotebook, publishIndex},
): Promise<number> {
  const folder = join(root, "notebooks");
  const names = notebookNames(folder);
  const wanted = readArguments(args, names);
  if (typeof wanted === "string") {
    stderr.write(`start: ${wanted}\n`);
    return 2;
  }
  if (names.length === 0) {
    stderr.write(
      `start: no notebook.ipynb in a folder of ${folder}; restore one, or check out the repository again\n`,
    );
    return 1;
  }
  const out = wanted.out ?? usualOut;
  mkdirSync(out, {recursive: true});
  const bar = progressBar(stderr);
  const pages: PublishedPage[] = [];
  for (const [index, name] of wanted.names.entries()) {
    const show = (share: number, doing: string) =>
      bar.show((index + share) / wanted.names.length, `${index + 1}/${wanted.names.length} ${name}${doing}`);
    show(0, "");
    try {
      const page = await publishing.publishNotebook(join(folder, name, "notebook.ipynb"), {
        out: join(out, `${name.replace("/", "-")}.html`),
        onCell: (done, total) => show(done / total, `, cell ${done} of ${total}`),
      });
      bar.clear();
      stdout.write(`${name}: ${page.verdict ?? "ran, without a verdict"}\n`);
      pages.push(page);
    } catch (error) {
      bar.clear();
      stderr.write(`${name}: failed: ${inWords(error)}\n`);
    }
  }
  if (pages.length > 0)
    stdout.write(
      `Open ${await publishing.publishIndex(pages, {out: join(out, "index.html"), note: page => behindWords(page)})}\n`,
    );
  return pages.length === wanted.names.length ? 0 : 1;
}

/** The notebooks and folder that the arguments ask for, or what is wrong with them in words. */
function readArguments(args: readonly string[], names: string[]): {names: string[]; out?: string} | string {
  try {
    const {values, positionals} = parseArgs({
      args: [...args],
      options: {out: {type: "string"}},
      allowPositionals: true,
    });
    const unknown = positionals.find(name => !names.includes(name));
    if (unknown !== undefined) return `no notebook "${unknown}"; there are ${names.join(", ") || "none"}`;
    return {names: positionals.length ? positionals : names, out: values.out};
  } catch (error) {
    return `${inWords(error)}; use npm start -- [NOTEBOOK …] [--out FOLDER]`;
  }
}

/** The message alone: a stack helps nobody here. */
function inWords(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}
