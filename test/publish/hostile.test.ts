import assert from "node:assert/strict";
import {mkdtemp, readFile, rm, writeFile} from "node:fs/promises";
import {tmpdir} from "node:os";
import path from "node:path";
import {pathToFileURL} from "node:url";
import {type Browser, chromium} from "playwright-core";
import {afterAll, beforeAll, describe, it} from "vitest";
import {openCleaner} from "../../lib/dist/publish/clean.js";
import {createMarkdown} from "../../lib/dist/publish/markdown.js";
import {document as documentOf} from "../../lib/dist/publish/page.js";
import {publishNotebook} from "../../lib/dist/publish/publish.js";
import {createReferences} from "../../lib/dist/publish/references.js";
import type {Cell, Notebook, Output} from "../../lib/notebook/notebook.ts";
import {notebookText} from "../../lib/notebook/write.ts";
import {BROWSER_ARGUMENTS, requireTool} from "../require.ts";
import {hostileVectors} from "./hostile-vectors.ts";

const browserTool = requireTool("browser");
const VECTORS = hostileVectors();

/** A notebook that carries hostile texts in every place that a page shows; nothing of it is run. */
async function hostileNotebook(): Promise<{notebook: Notebook; refused: number}> {
  const clean = await openCleaner("n.ipynb");
  const cell = (id: string): Cell => ({id, cell_type: "markdown", source: "", metadata: {}});
  const markdown = () =>
    createMarkdown({
      file: "n.ipynb",
      references: createReferences("n.ipynb"),
      picture: () => null,
      clean: async () => clean,
    });
  const cells: Cell[] = [];
  let refused = 0;
  let count = 0;
  const show = (...outputs: Output[]) =>
    cells.push({
      id: `c${++count}`,
      cell_type: "code",
      source: `"${VECTORS[count % VECTORS.length]}"`,
      metadata: {tags: ["expected-error"]},
      outputs,
      execution_count: count,
    });
  const data = (bundle: Record<string, unknown>): Output => ({
    output_type: "display_data",
    data: bundle,
    metadata: {},
  });
  for (const [i, vector] of VECTORS.entries()) {
    // what is refused altogether cannot be in a page; all else must be harmless in it
    try {
      clean(vector, "a");
      show(data({"text/html": vector}));
    } catch (error) {
      assert.equal((error as Error).name, "InputError", vector);
      refused++;
    }
    try {
      await markdown().render(vector, cell(`t${i}`));
      cells.push({...cell(`m${i}`), source: vector});
      show(data({"text/markdown": vector}));
    } catch (error) {
      assert.equal((error as Error).name, "InputError", vector);
      refused++;
    }
    show(
      {output_type: "stream", name: i % 2 ? "stdout" : "stderr", text: vector},
      {output_type: "error", ename: vector, evalue: vector, traceback: [vector]},
      data({"text/latex": vector}),
      data({"image/png": `x"${vector}`, "text/plain": vector}),
      data({
        "application/vnd.fairpull.table+json": {
          id: `t-${i}"${vector}`,
          caption: vector,
          columns: [{title: vector, unit: vector}],
          rows: [[vector]],
        },
      }),
      data({"image/svg+xml": `<svg xmlns="http://www.w3.org/2000/svg">${vector}</svg>`}),
    );
    if (i % 12 === 0) {
      show(
        data({
          "application/vnd.plotly.v1+json": {
            data: [{type: "scatter", name: vector, x: [vector, "b"], y: [1, 2], text: [vector, ""]}],
            layout: {
              title: {text: vector},
              xaxis: {title: {text: vector}},
              meta: {fairpull: {id: `f-${i}`, caption: vector, alt: vector}},
            },
          },
        }),
      );
    }
  }
  const title = VECTORS.slice(0, 12).join(" ");
  const metadata = {
    kernelspec: {language: "typescript", name: "tslab"},
    title,
    authors: [{name: title}],
    abstract: VECTORS.join(" "),
    date: title,
    licence: title,
    car: title,
    fairpull: {template: title, version: title, requires: "*"},
  };
  return {notebook: {nbformat: 4, nbformat_minor: 5, metadata, cells}, refused};
}

describe.skipIf(browserTool.path === null)(`hostile texts${browserTool.title}`, () => {
  let folder: string;
  let browser: Browser;
  let html: string;
  let refused: number;

  beforeAll(async () => {
    folder = await mkdtemp(path.join(tmpdir(), "fairpull hostile "));
    const made = await hostileNotebook();
    refused = made.refused;
    const file = path.join(folder, `a'"&<b>.ipynb`);
    await writeFile(file, notebookText(made.notebook));
    await publishNotebook(file, {out: path.join(folder, "page.html")});
    html = await readFile(path.join(folder, "page.html"), "utf8");
    browser = await chromium.launch({executablePath: browserTool.path!, args: BROWSER_ARGUMENTS});
  }, 60_000);
  afterAll(async () => {
    await browser?.close();
    await rm(folder, {recursive: true, force: true});
  });

  /** Opens a page, touches everything in it, and returns the vectors that ran and the addresses it asked for. */
  async function touched(text: string): Promise<{hits: string[]; asked: string[]; elements: number}> {
    const file = path.join(folder, "touched.html");
    await writeFile(file, text);
    const context = await browser.newContext({offline: true});
    const hits = new Set<string>();
    const asked: string[] = [];
    await context.exposeFunction("told", (n: number) => hits.add(VECTORS[n - 1] ?? String(n)));
    await context.addInitScript("window.hit = n => window.told(n);");
    const page = await context.newPage();
    const address = pathToFileURL(file).href;
    page.on("request", request => {
      const url = request.url();
      if (url !== address && !/^(data:|blob:|about:)/.test(url)) asked.push(url);
    });
    await page.goto(address);
    const elements = await page.evaluate(async () => {
      const all = [...document.querySelectorAll<HTMLElement>("main *, body > *")];
      window.addEventListener("click", event => {
        // follow no link away from here, but let a script in its address run
        const link = (event.target as Element).closest?.("a");
        if (link && !/^\s*j\s*a\s*v\s*a/i.test(link.getAttribute("href") ?? "")) event.preventDefault();
      });
      for (const element of all) {
        for (const name of ["focus", "mouseover", "pointerenter", "toggle", "input", "wheel", "scroll"]) {
          element.dispatchEvent(new Event(name, {bubbles: true}));
        }
        element.click?.();
      }
      await new Promise(done => setTimeout(done, 300));
      return all.length;
    });
    await context.close();
    return {hits: [...hits], asked, elements};
  }

  it("are many, and of every known class", () => {
    assert.ok(VECTORS.length >= 100, `${VECTORS.length}`);
    assert.equal(new Set(VECTORS).size, VECTORS.length);
    assert.ok(refused < VECTORS.length / 2, `${refused} of ${2 * VECTORS.length} were refused`);
  });

  it("do run where nothing holds them back, so that the test can fail", async () => {
    const {hits} = await touched(
      `<!doctype html><main>${VECTORS.map(vector => `<div>${vector}</div>`).join("\n")}</main>`,
    );
    const alone = await touched(
      `<!doctype html><main><img src=x onerror=hit(1)><p onclick=hit(2)>x</p></main>`,
    );
    assert.equal(alone.hits.length, 2);
    assert.ok(hits.length >= 5, `${hits.length}`);
  });

  it("run nothing and ask for nothing in a page", async () => {
    const {hits, asked, elements} = await touched(html);
    assert.ok(elements > 1000, `${elements}`);
    assert.deepEqual([hits, asked], [[], []]);
  });

  it("run nothing by the cleaning alone, without a policy", async () => {
    const open = html.replace(/<meta http-equiv="Content-Security-Policy"[^>]*>/, "");
    assert.notEqual(open, html);
    assert.deepEqual((await touched(open)).hits, []);
  });

  it("run nothing by the policy alone, without cleaning", async () => {
    const parts = {title: "x", css: "", description: null, data: "", script: "1;"};
    // some swallow what follows, so that every group is read in both directions
    const groups = [0, 1, 2].map(group =>
      VECTORS.filter((_, i) => i % 3 === group).map(text => `<div>${text}</div>`),
    );
    for (const group of [...groups, ...groups.map(texts => [...texts].reverse())]) {
      const {hits} = await touched(documentOf({...parts, main: `<main>${group.join("\n")}</main>`}));
      assert.deepEqual(hits, []);
    }
  });
});
