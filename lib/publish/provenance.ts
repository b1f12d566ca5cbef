import {createRequire} from "node:module";
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

const LICENCES: Record<Embedded, {manifest: string; name: string; notice: string}> = {
  plotly: {
    manifest: "plotly.js-cartesian-dist-min/package.json",
    name: "plotly.js",
    notice: "Copyright Plotly, Inc., MIT licence",
  },
  katex: {
    manifest: "katex/package.json",
    name: "KaTeX style sheet and fonts",
    notice: "Copyright Khan Academy and other contributors, MIT licence",
  },
};

const MIT_TEXT =
  "The MIT licence permits use, copying, modification, merging, publishing, distribution, sublicensing and sale, provided that " +
  "the copyright notice and this permission notice are included in all copies or substantial portions. The software is " +
  "provided “as is”, without warranty of any kind.";

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
  if (embedded.length) {
    const notices = embedded.map(name => {
      const {manifest, name: title, notice} = LICENCES[name];
      return `<li>${title} ${(require(manifest) as {version: string}).version}: ${notice}.</li>`;
    });
    rows.push([
      "Contains",
      `<ul>${notices.join("")}</ul><details><summary>MIT licence</summary><p>${MIT_TEXT}</p></details>`,
    ]);
  }
  return (
    '<footer id="provenance"><h2>To get the same numbers again</h2><dl>' +
    rows.map(([label, html]) => `<div><dt>${label}</dt><dd>${html}</dd></div>`).join("") +
    "</dl></footer>"
  );
}
