import {readFileSync} from "node:fs";
import {createRequire} from "node:module";
import path from "node:path";
import type {ResultDocument} from "../result/result-document.ts";
import {downloadLink, runsCsv} from "./download.ts";
import {escapeHtml} from "./html.ts";
import type {PageRecord} from "./record.ts";

const require = createRequire(import.meta.url);

/** A library whose code or fonts are part of the page. */
export type Embedded = "plotly" | "katex";

const TITLES: Record<Embedded, {folder: string; title: string}> = {
  plotly: {folder: "plotly.js-cartesian-dist-min", title: "plotly.js"},
  katex: {folder: "katex", title: "KaTeX, style sheet and fonts"},
};

/** Name, version and whole licence of an embedded library, as its own files give them. */
function licenceHtml(name: Embedded): string {
  const {folder, title} = TITLES[name];
  const manifest = require.resolve(`${folder}/package.json`);
  const {version, license} = require(manifest) as {version: string; license: string};
  const text = readFileSync(path.join(path.dirname(manifest), "LICENSE"), "utf8");
  return (
    `<li><details><summary>${title} ${escapeHtml(version)}, ${escapeHtml(license)} licence</summary>` +
    `<pre class="text">${escapeHtml(text.trim())}</pre></details></li>`
  );
}

/** The end of a page: hashes, versions, seed, what it hands out, and the licences of what is embedded. */
export function provenanceHtml(
  record: PageRecord,
  notebook: {text: string; sha256: string},
  result: ResultDocument | null,
  embedded: readonly Embedded[],
): string {
  const {inputs, versions, session, data} = record;
  const file = (entry: {file: string; sha256: string}) =>
    `<li>${escapeHtml(entry.file)} <span class="hash">${escapeHtml(entry.sha256)}</span></li>`;
  const handedOut = [
    downloadLink(record.file, "application/x-ipynb+json", notebook.text),
    ...(session ? [downloadLink(baseName(session.file), "application/yaml", session.text)] : []),
    ...(result && "runs" in result ? [downloadLink("runs.csv", "text/csv", runsCsv(result))] : []),
  ];
  const rows: [string, string][] = [
    ["Notebook", `<ul>${file({file: `${record.file} without outputs`, sha256: notebook.sha256})}</ul>`],
    ["Data", inputs.length ? `<ul>${inputs.map(file).join("")}</ul>` : "no file was read"],
    [
      "Pictures",
      Object.keys(record.pictures).length
        ? `<ul>${Object.entries(record.pictures)
            .map(([name, sha256]) => file({file: name, sha256}))
            .join("")}</ul>`
        : "",
    ],
    ["Seed", result === null ? "none" : String(result.seed)],
    [
      "Versions",
      escapeHtml(
        Object.entries(versions)
          .map(([name, version]) => `${name} ${version}`)
          .join(", "),
      ),
    ],
    ["Files in this page", `<ul>${handedOut.map(link => `<li>${link}</li>`).join("")}</ul>`],
    [
      "To check it",
      session === null
        ? "There is no session file in this page, so its numbers cannot be computed again from it."
        : `<code>fairpull verify PAGE${data.length ? "" : " --data FOLDER"}</code> computes the result again from ${data.length ? "the logs in this page" : "the logs in FOLDER"} and compares every number and the text.`,
    ],
  ];
  if (embedded.length) rows.push(["Contains", `<ul>${embedded.map(licenceHtml).join("")}</ul>`]);
  return (
    '<footer id="provenance"><h2>To get the same numbers again</h2><dl>' +
    rows
      .filter(([, html]) => html !== "")
      .map(([label, html]) => `<div><dt>${label}</dt><dd>${html}</dd></div>`)
      .join("") +
    "</dl></footer>"
  );
}

/** The name of a file without its folders. */
function baseName(file: string): string {
  return file.slice(file.lastIndexOf("/") + 1);
}
