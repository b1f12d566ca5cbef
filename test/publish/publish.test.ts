import assert from "node:assert/strict";
import {createHash} from "node:crypto";
import {mkdtemp, readdir, readFile, rm, writeFile} from "node:fs/promises";
import {createRequire} from "node:module";
import {tmpdir} from "node:os";
import path from "node:path";
import {fileURLToPath} from "node:url";
import {inflateSync} from "node:zlib";
import {JSDOM} from "jsdom";
import {afterAll, beforeAll, describe, it} from "vitest";
import {publishIndex} from "../../lib/dist/publish/index-page.js";
import {type PublishedPage, publishNotebook} from "../../lib/dist/publish/publish.js";
import type {Cell, Notebook} from "../../lib/notebook/notebook.ts";
import {notebookText} from "../../lib/notebook/write.ts";
import {notebookOf} from "../kernel/notebook-of.ts";

const require = createRequire(import.meta.url);
const whole = fileURLToPath(new URL("../fixtures/notebooks/whole.ipynb", import.meta.url));

let folder: string;
let page: PublishedPage;
let html: string;
let document: Document;

beforeAll(async () => {
  folder = await mkdtemp(path.join(tmpdir(), "fairpull publish "));
  page = await publishNotebook(whole, {out: path.join(folder, "whole.html")});
  html = await readFile(page.page, "utf8");
  document = new JSDOM(html).window.document;
});
afterAll(() => rm(folder, {recursive: true}));

const text = (selector: string) => document.querySelector(selector)?.textContent ?? null;

function markdownCell(source: string, more: Partial<Cell> = {}): Cell {
  return {id: "text", cell_type: "markdown", source, metadata: {}, ...more};
}

async function publishCells(notebook: Notebook, ...texts: Cell[]): Promise<string> {
  const file = path.join(folder, "made.ipynb");
  await writeFile(file, notebookText({...notebook, cells: [...texts, ...notebook.cells]}));
  const out = path.join(folder, "made.html");
  await publishNotebook(file, {out});
  return readFile(out, "utf8");
}

describe("publishNotebook", () => {
  it("puts the verdict at the top: question, state, estimate, interval, runs, what it does not show", () => {
    assert.equal(page.verdict, "Shown better: −0.140 s (−2.6 %), interval −0.200 to −0.080 s, 95 %");
    assert.equal(text("#verdict h2"), "Does the longer fixture shorten the 60–110 km/h pull?");
    assert.equal(text("#verdict .state"), "Shown better");
    const rows = Object.fromEntries(
      [...document.querySelectorAll("#verdict dl div")].map(row => [
        row.children[0]!.textContent,
        row.children[1]!.textContent,
      ]),
    );
    assert.equal(rows["Difference"], "−0.140 s (−2.6 %); longer fixture − short fixture");
    assert.equal(rows["Runs"], "4 with short fixture, 4 with longer fixture; 4 fittings of each arm");
    assert.equal(rows["Left out"], "run 9: lifted at 95");
    assert.equal(rows["Checks"], "1 of 2 held; not checkable: grade");
    assert.match(rows["Not said"]!, /another day/);
    assert.ok(html.indexOf('id="verdict"') < html.indexOf("What is timed is a pull"));
  });

  it("numbers figures and tables and lets texts refer to those that come later", () => {
    const links = [...document.querySelectorAll('main a[href^="#figure"], main a[href^="#table"]')];
    assert.deepEqual(
      links.map(link => [link.textContent, link.getAttribute("href")]),
      [
        ["Figure 1", "#figure-times"],
        ["Table 1", "#table-runs"],
      ],
    );
    assert.equal(text("#figure-times figcaption"), "Figure 1. Band times in the order driven.");
    assert.equal(text("#table-runs caption"), "Table 1. Every run with its arm and time.");
    assert.equal(text("#table-runs thead th:nth-child(3)"), "band time s");
  });

  it("shows the computed text of a prose cell without its code, and the code of others folded", () => {
    assert.match(text("main")!, /The difference of the means is -0\.140 s\./);
    const codes = [...document.querySelectorAll("details.code")];
    assert.ok(codes.every(code => !code.hasAttribute("open")));
    assert.ok(codes.some(code => code.textContent!.includes("fp.figure(")));
    assert.ok(codes.every(code => !code.textContent!.includes("const effect =")));
  });

  it("shows an expected error with cell and line, and says that it is meant", () => {
    assert.match(
      text("pre.error")!,
      /^RangeError: tooFast: 120 km\/h is too fast\n {4}at tooFast \(cell \d:2:26\)/,
    );
    assert.match(text("main")!, /This error is meant to be here/);
  });

  it("keeps nothing that runs from cells and texts, and nothing that would be loaded", () => {
    const scripts = [...document.querySelectorAll("script")].filter(script => !script.type);
    assert.equal(scripts.length, 1);
    const hash = createHash("sha256").update(scripts[0]!.textContent!).digest("base64");
    const policy = document.querySelector("meta[http-equiv]")!.getAttribute("content")!;
    assert.ok(policy.includes(`script-src 'sha256-${hash}' blob:;`), policy);
    assert.ok(policy.startsWith("default-src 'none';"));
    for (const element of document.querySelectorAll("*")) {
      for (const {name, value} of element.attributes) {
        assert.doesNotMatch(name, /^on/);
        if (name === "src" || name === "srcset" || (name === "href" && element.tagName === "LINK")) {
          assert.match(value, /^data:/, `${element.tagName} ${name}`);
        }
      }
    }
    assert.equal(document.querySelectorAll("svg:not(.interval-picture):not(.katex svg)").length, 0);
    assert.ok(!/url\((?!data:)/.test(html.replace(/<script type="text\/plain".*?<\/script>/s, "")));
    const shown = new JSDOM(html).window.document;
    for (const code of shown.querySelectorAll("details.code")) code.remove();
    assert.ok(!shown.body.innerHTML.includes("window.broken"));
  });

  it("embeds the fonts that its formulas use and no others", () => {
    const fonts = [
      ...html.matchAll(/font-family:(KaTeX_\w+);font-style:(\w+);font-weight:(\d+);src:url\(data:/g),
    ];
    const names = fonts.map(([, family, style]) => `${family} ${style}`);
    assert.ok(names.includes("KaTeX_Main normal") && names.includes("KaTeX_Math italic"), names.join(", "));
    assert.ok(
      names.every(name => !/Fraktur|Script|Typewriter|Caligraphic/.test(name)),
      names.join(", "),
    );
    assert.ok(html.includes("They cost from $5 to $10."));
  });

  it("embeds Plotly once, of the version that drew the pictures", () => {
    const blocks = [...html.matchAll(/<script type="text\/plain" id="plotly">([^<]*)<\/script>/g)];
    assert.equal(blocks.length, 1);
    const source = inflateSync(Buffer.from(blocks[0]![1]!, "base64")).toString();
    const {version} = require("plotly.js-dist/package.json");
    assert.ok(source.slice(0, 500).includes(`v${version}`));
    assert.equal(require("plotly.js-cartesian-dist-min/package.json").version, version);
  });

  it("ends with what it takes to get the same numbers again", () => {
    const end = text("#provenance")!;
    assert.match(end, /whole\.ipynb without outputs [0-9a-f]{64}/);
    assert.match(end, /session\.yaml 0{64}/);
    assert.match(end, /Seed4711/);
    assert.match(end, /fairpull 0\.1\.0, node \d+\.\d+\.\d+, TypeScript 5\.0\.4/);
    assert.match(end, /plotly\.js 4\.1\.1, MIT licence/);
    assert.equal(end.split("Permission is hereby granted, free of charge").length - 1, 2); // whole texts: Plotly's and KaTeX's
  });

  it("gives the same bytes twice", async () => {
    const again = await publishNotebook(whole, {out: path.join(folder, "again.html")});
    assert.equal(await readFile(again.page, "utf8"), html);
  });

  it("stops at a cell that fails, shows it, and leaves an earlier page as it was", async () => {
    const out = path.join(folder, "made.html");
    await writeFile(out, "earlier");
    await assert.rejects(
      publishCells(notebookOf("1", 'const a = 2;\nthrow new Error("no: " + a);')),
      error => {
        const message = (error as Error).message;
        assert.match(message, /made\.ipynb: cell 2 \("cell-2"\) failed, so there is no result/);
        assert.match(message, /Error: no: 2\n {6}at cell 2:2:7/);
        assert.match(message, / 2 \| throw new Error/);
        return (error as {exitCode: number}).exitCode === 1;
      },
    );
    assert.equal(await readFile(out, "utf8"), "earlier");
    assert.deepEqual(
      (await readdir(folder)).filter(name => name.endsWith(".part")),
      [],
    );
  });

  it("refuses references that lead nowhere and ids used twice", async () => {
    const figure = (id: string) =>
      `({[Symbol.for("Jupyter.display")]: () => ({"application/vnd.plotly.v1+json": {data: [], layout: {meta: {fairpull: {id: "${id}"}}}}})})`;
    await assert.rejects(
      publishCells(notebookOf(figure("a")), markdownCell("see {ref:b}")),
      /made\.ipynb: the text refers to \{ref:b\}, but no figure or table has that id; the ids are: a/,
    );
    await assert.rejects(
      publishCells(notebookOf(figure("a"), figure("a"))),
      /two figures or tables have the id "a"/,
    );
  });

  it("says which figure cannot be drawn", async () => {
    const gl = `({[Symbol.for("Jupyter.display")]: () => ({"application/vnd.plotly.v1+json": {data: [{type: "scattergl", x: [1], y: [1]}]}})})`;
    await assert.rejects(
      publishCells(notebookOf("1", gl)),
      /the figure of cell 2 cannot be drawn: a "scattergl" trace/,
    );
  });

  it("embeds pictures that lie beside the notebook or are attached, and refuses those elsewhere", async () => {
    const png =
      "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg==";
    await writeFile(path.join(folder, "dot.png"), Buffer.from(png, "base64"));
    const made = await publishCells(
      notebookOf(),
      markdownCell("![beside](dot.png) ![attached](attachment:a.png)", {
        attachments: {"a.png": {"image/png": png}},
      }),
    );
    assert.equal(made.split(`src="data:image/png;base64,${png}"`).length, 3);
    const refused: [string, RegExp][] = [
      [
        "![x](https://example.org/x.png)",
        /the picture https:\/\/example\.org\/x\.png would be loaded from outside/,
      ],
      [
        '<img src="https://example.org/y.png">',
        /the picture https:\/\/example\.org\/y\.png would be loaded from outside/,
      ],
      [
        "![x](missing.png)",
        /the picture missing\.png cannot be shown: there is no such file beside the notebook/,
      ],
      ["![x](notes.txt)", /the picture notes\.txt cannot be shown: only \.png/],
    ];
    for (const [source, message] of refused) {
      await assert.rejects(publishCells(notebookOf(), markdownCell(source)), message);
    }
  });

  it("publishes a notebook that carries outputs as it is, says so, and runs it where that is asked for", async () => {
    const notebook = notebookOf("console.log(1 + 1)");
    notebook.cells[0]!.execution_count = 1;
    notebook.cells[0]!.outputs = [{output_type: "stream", name: "stdout", text: "stored words\n"}];
    const file = path.join(folder, "stored.ipynb");
    await writeFile(file, notebookText(notebook));
    const out = path.join(folder, "stored.html");
    await publishNotebook(file, {out});
    const asItIs = await readFile(out, "utf8");
    assert.match(asItIs, /stored words/);
    assert.match(asItIs, /The notebook was not run for this page/);
    await publishNotebook(file, {out, run: true});
    const fresh = await readFile(out, "utf8");
    assert.match(fresh, /<pre class="text stdout">2\n<\/pre>/);
    assert.doesNotMatch(fresh, /stored words|not run for this page/);
    notebook.cells[0]!.execution_count = null;
    await writeFile(file, notebookText(notebook));
    await assert.rejects(publishNotebook(file, {out}), /was not run, and others were; publish with --run/);
    assert.equal(await readFile(out, "utf8"), fresh);
  });

  it("publishes what a cell printed of a flood, and says where it was cut", async () => {
    const made = await publishCells(notebookOf("for (let i = 0; i < 30; i++) console.log('x'.repeat(1e6));"));
    assert.ok(made.length < 10 << 20, `${made.length} bytes`);
    assert.match(made, /class="text stderr">[^<]*MiB/);
  });

  it("lets the result of another kind of test show itself, and makes no verdict of it", async () => {
    const other = `({[Symbol.for("Jupyter.display")]: () => ({"application/vnd.fairpull.result+json": {format: "fairpull.judge/1", test: "meter"}, "text/html": "<p>terms of the road load</p>"})})`;
    const made = await publishCells(notebookOf(other));
    assert.match(made, /<p>terms of the road load<\/p>/);
    assert.doesNotMatch(made, /id="verdict"/);
  });

  it("refuses a notebook that needs another version", async () => {
    const file = path.join(folder, "made.ipynb");
    const notebook = notebookOf("1");
    notebook.metadata["fairpull"] = {template: "t", version: "1.0.0", requires: "^9.0.0"};
    await writeFile(file, notebookText(notebook));
    await assert.rejects(
      publishNotebook(file, {out: path.join(folder, "made.html")}),
      /the notebook needs fairpull \^9\.0\.0, and this is \d+\.\d+\.\d+; install that version/,
    );
  });

  it("writes the verdict as a picture to post", async () => {
    const out = path.join(folder, "posted.html");
    await publishNotebook(whole, {out, picture: true, publishedAt: "2026-11-25"});
    assert.match(await readFile(out, "utf8"), /published 2026-11-25/);
    const svg = await readFile(path.join(folder, "posted-verdict.svg"), "utf8");
    const drawn = new JSDOM(svg, {contentType: "image/svg+xml"}).window.document;
    const words = [...drawn.querySelectorAll("text")].map(element => element.textContent).join(" ");
    assert.match(
      words,
      /Does the longer fixture shorten.*Shown better.*−0\.140 s.*4 runs with short fixture/s,
    );
    assert.match(drawn.querySelector("title")!.textContent!, /Shown better\. −0\.140 s/);
    const png = await readFile(path.join(folder, "posted-verdict.png"));
    assert.equal(png.readUInt32BE(16), 1600);
    const none = path.join(folder, "made.ipynb");
    await writeFile(none, notebookText(notebookOf("1")));
    await assert.rejects(
      publishNotebook(none, {out, picture: true}),
      /ends without a result, so there is no verdict/,
    );
  });

  it("hands out the notebook and the runs as files, without a script", () => {
    const links = [...document.querySelectorAll("a[download]")];
    assert.deepEqual(
      links.map(link => link.getAttribute("download")),
      ["whole.ipynb", "runs.csv"],
    );
    const [notebook] = links.map(link =>
      Buffer.from(link.getAttribute("href")!.split(",")[1]!, "base64").toString(),
    );
    assert.equal(
      createHash("sha256").update(notebook!).digest("hex"),
      /whole\.ipynb without outputs ([0-9a-f]{64})/.exec(text("#provenance")!)![1],
    );
  });

  it("gives every figure its numbers on demand", () => {
    const tables = [...document.querySelectorAll("figure.plot details.numbers table")];
    assert.equal(tables.length, document.querySelectorAll("figure.plot").length);
    assert.ok(tables[0]!.querySelectorAll("tbody tr").length > 7);
  });

  it("publishes a notebook without a result, without figures, without their weight", async () => {
    const made = await publishCells(notebookOf('console.log("<b>plain</b>")'));
    assert.ok(made.length < 20_000, `${made.length} bytes`);
    assert.match(made, /<pre class="text stdout">&lt;b&gt;plain&lt;\/b&gt;\n<\/pre>/);
    assert.doesNotMatch(made, /id="verdict"/);
  });

  it("says when the page cannot be written", async () => {
    const file = path.join(folder, "made.ipynb");
    await writeFile(file, notebookText(notebookOf("1")));
    await assert.rejects(
      publishNotebook(file, {out: path.join(file, "x.html")}),
      /the page cannot be written \((ENOTDIR|EEXIST)\)/,
    );
  });
});

describe("publishIndex", () => {
  it("lists question, state, estimate and link of every page", async () => {
    const out = await publishIndex([page, {...page, title: "<Other>", verdict: null, result: null}], {
      out: path.join(folder, "index.html"),
    });
    const index = new JSDOM(await readFile(out, "utf8")).window.document;
    const [first, second] = [...index.querySelectorAll(".pages li")];
    assert.equal(first!.querySelector("a")!.getAttribute("href"), "whole.html");
    assert.match(first!.textContent!, /Does the longer fixture shorten/);
    assert.match(
      first!.textContent!,
      /Shown better\. −0\.140 s \(−2\.6 %\), interval −0\.200 to −0\.080 s, 95 %/,
    );
    assert.equal(second!.textContent, "<Other>2025-06-14 · notebook fixture 1.0.0No verdict.");
    assert.match(
      index.querySelector("meta[http-equiv]")!.getAttribute("content")!,
      /^default-src 'none'; [^;]*; [^;]*; style-src 'unsafe-inline'; script-src 'sha256-[^']*' blob:; base-uri/,
    );
  });
});
