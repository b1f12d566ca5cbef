import path from "node:path";
import {effectWords, intervalWords, stateWords} from "./card.ts";
import {escapeHtml} from "./html.ts";
import {document} from "./page.ts";
import type {PublishedPage} from "./publish.ts";
import {PAGE_CSS} from "./style.ts";
import {writeWhole} from "./write-whole.ts";

/**
 * Writes a page that leads to other pages: question, state of the verdict, estimate with interval, link.
 *
 * @param pages       as returned by `publishNotebook`, in the order in which they are listed
 * @param options.out path of the HTML file to write; links are relative to it
 * @returns the path written
 * @throws {InputError} exit code 2: it cannot be written there
 */
export async function publishIndex(pages: readonly PublishedPage[], {out}: {out: string}): Promise<string> {
  const folder = path.dirname(path.resolve(out));
  const items = pages.map(({page, title, result}) => {
    const link = path.relative(folder, path.resolve(page)).split(path.sep).map(encodeURIComponent).join("/");
    const numbers =
      result && [effectWords(result), intervalWords(result)].filter(Boolean).join(", interval ");
    return (
      `<li><h2><a href="${escapeHtml(link)}">${escapeHtml(title)}</a></h2>` +
      (result
        ? `<p>${escapeHtml(result.question)}</p><p><span class="state">${stateWords(result.verdict.state)}.</span> ${escapeHtml(numbers ?? "")}</p>`
        : "<p>No verdict.</p>") +
      "</li>"
    );
  });
  const main =
    '<main id="content"><header><p class="kicker">fairpull</p><h1>What was asked, and what was found</h1></header>' +
    `<ul class="pages">${items.join("")}</ul></main>`;
  await writeWhole(
    out,
    document({
      title: "fairpull: what was asked, and what was found",
      css: PAGE_CSS,
      description: null,
      main,
      data: "",
      script: "",
    }),
  );
  return out;
}
