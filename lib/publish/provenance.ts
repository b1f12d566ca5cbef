import {readFileSync} from "node:fs";
import {createRequire} from "node:module";
import path from "node:path";
import {escapeHtml} from "./html.ts";

const require = createRequire(import.meta.url);

/** What it takes to get the numbers of a page again. */
export interface Provenance {
  /** name of the notebook's file and SHA-256 of it without outputs */
  notebook: {file: string; sha256: string};
  inputs: readonly {file: string; sha256: string}[];
  /** name → version */
  versions: Readonly<Record<string, string>>;
  /** null where the notebook ends without a result document */
  seed: number | null;
}

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

/** The end of a page: hashes, versions, seed, and the licences of what is embedded. */
export function provenanceHtml(provenance: Provenance, embedded: readonly Embedded[]): string {
  const {notebook, inputs, versions, seed} = provenance;
  const file = (entry: {file: string; sha256: string}) =>
    `<li>${escapeHtml(entry.file)} <span class="hash">${escapeHtml(entry.sha256)}</span></li>`;
  const rows: [string, string][] = [
    ["Notebook", `<ul>${file(notebook)}</ul>`],
    ["Data", inputs.length ? `<ul>${inputs.map(file).join("")}</ul>` : "no file was read"],
    ["Seed", seed === null ? "none" : String(seed)],
    [
      "Versions",
      escapeHtml(
        Object.entries(versions)
          .map(([name, version]) => `${name} ${version}`)
          .join(", "),
      ),
    ],
  ];
  if (embedded.length) rows.push(["Contains", `<ul>${embedded.map(licenceHtml).join("")}</ul>`]);
  return (
    '<footer id="provenance"><h2>To get the same numbers again</h2><dl>' +
    rows.map(([label, html]) => `<div><dt>${label}</dt><dd>${html}</dd></div>`).join("") +
    "</dl></footer>"
  );
}
