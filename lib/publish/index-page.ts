import path from "node:path";
import {headline} from "./answer-card.ts";
import {escapeHtml} from "./html.ts";
import {document} from "./page.ts";
import type {PublishedPage} from "./publish.ts";
import {PAGE_CSS} from "./style.ts";
import {writeWhole} from "./write-whole.ts";

/**
 * Writes a page that leads to other pages: question, state of the verdict, estimate with interval, date, car, link. With a script
 * it can be searched, narrowed to a state and sorted; without one it is the list.
 *
 * @param pages       as returned by `publishNotebook`, in the order in which they are listed
 * @param options.out path of the HTML file to write; links are relative to it
 * @param options.note a sentence to stand below a page's entry, such as that its template has a newer version; default none
 * @returns the path written
 * @throws {InputError} exit code 2: it cannot be written there
 */
export async function publishIndex(
  pages: readonly PublishedPage[],
  {out, note = () => null}: {out: string; note?: (page: PublishedPage) => string | null},
): Promise<string> {
  const folder = path.dirname(path.resolve(out));
  const items = pages.map(page => itemHtml(page, folder, note(page)));
  const main =
    '<main id="content"><header><p class="kicker">fairpull</p><h1>What was asked, and what was found</h1></header>' +
    `${toolsHtml(pages)}<ul class="pages">${items.join("")}</ul></main>`;
  await writeWhole(
    out,
    document({
      title: "fairpull: what was asked, and what was found",
      css: PAGE_CSS,
      description: null,
      main,
      data: "",
      script: INDEX_SCRIPT,
    }),
  );
  return out;
}

function itemHtml(
  {page, title, result, date, car, template}: PublishedPage,
  folder: string,
  note: string | null,
): string {
  const link = path.relative(folder, path.resolve(page)).split(path.sep).map(encodeURIComponent).join("/");
  const line = result && headline(result);
  const made = template && `notebook ${template.name} ${template.version}`;
  const about = [date, car, made].filter(Boolean).join(" · ");
  return (
    `<li data-state="${line?.key ?? ""}" data-date="${escapeHtml(date ?? "")}">` +
    `<h2><a href="${escapeHtml(link)}">${escapeHtml(title)}</a></h2>` +
    (about === "" ? "" : `<p class="by">${escapeHtml(about)}</p>`) +
    (result && line
      ? `<p>${escapeHtml(result.question)}</p><p><span class="state">${line.state}.</span> ${escapeHtml(line.numbers ?? "")}</p>`
      : "<p>No verdict.</p>") +
    (note === null ? "" : `<p class="callout note">${escapeHtml(note)}</p>`) +
    "</li>"
  );
}

/** Hidden until the script that serves them runs. */
function toolsHtml(pages: readonly PublishedPage[]): string {
  const states = new Map(
    pages.flatMap(({result}) => {
      const line = result && headline(result);
      return line ? [[line.key, line.state] as const] : [];
    }),
  );
  const options = [...states].map(([key, state]) => `<option value="${key}">${state}</option>`);
  return (
    '<div class="filters" role="search" hidden><label>Words <input type="search" id="words"></label>' +
    `<label>Verdict <select id="state"><option value="">any</option>${options.join("")}</select></label>` +
    '<label>Order <select id="order"><option value="">as listed</option><option value="date">newest first</option><option value="title">by title</option></select></label>' +
    '<p class="note" id="found" role="status"></p></div>'
  );
}

const INDEX_SCRIPT = `"use strict";
(() => {
  const list = document.querySelector(".pages");
  const all = [...list.children];
  const at = id => document.getElementById(id);
  const title = item => item.querySelector("h2").textContent;
  const show = () => {
    const words = at("words").value.toLowerCase().split(/\\s+/).filter(Boolean);
    const kept = all.filter(item => {
      const text = item.textContent.toLowerCase();
      return words.every(word => text.includes(word)) && (at("state").value === "" || item.dataset.state === at("state").value);
    });
    const order = at("order").value;
    if (order === "date") kept.sort((a, b) => (a.dataset.date < b.dataset.date ? 1 : a.dataset.date > b.dataset.date ? -1 : 0));
    if (order === "title") kept.sort((a, b) => (title(a) < title(b) ? -1 : 1));
    list.replaceChildren(...kept);
    at("found").textContent = kept.length + " of " + all.length;
  };
  document.querySelector(".filters").hidden = all.length < 2;
  for (const id of ["words", "state", "order"]) at(id).addEventListener("input", show);
})();
`;
