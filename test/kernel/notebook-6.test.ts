import assert from "node:assert/strict";
import {type ChildProcess, spawn} from "node:child_process";
import {cpSync, existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync} from "node:fs";
import {createServer} from "node:net";
import {tmpdir} from "node:os";
import path from "node:path";
import {type Browser, chromium, type Page} from "playwright-core";
import {afterAll, beforeAll, describe, it} from "vitest";
import {requireBuild} from "../repo/built.ts";
import {ROOT} from "../repo/tracked-files.ts";
import {BROWSER_ARGUMENTS, requireTool} from "../require.ts";
import {kernelEnvironment} from "./front-end.ts";

const jupyter = requireTool("jupyter");
const browserTool = requireTool("browser");
const isHere = jupyter.path !== null && browserTool.path !== null;
const title = jupyter.title || browserTool.title;

const FOLDER = path.join("notebooks", "band-time");
const FIGURES = 3;
/** Patience with a busy machine [ms]. */
const PATIENCE_MS = 120_000;

interface JupyterCell {
  cell_type: string;
  input_prompt_number: number | string | null;
  get_text(): string;
  set_text(text: string): void;
  execute(): void;
  focus_editor(): void;
  code_mirror: {setCursor(line: number, column: number): void};
  output_area: {outputs: {output_type: string; ename?: string; name?: string}[]};
}

/** The part of Notebook 6 that the test reaches into. */
interface JupyterPage {
  Jupyter: {
    notebook: {
      trusted: boolean;
      kernel: {is_connected(): boolean; info_reply?: {status?: string}} | null;
      get_cells(): JupyterCell[];
      execute_all_cells(): void;
      insert_cell_at_bottom(kind: string): JupyterCell;
      save_notebook(): Promise<void>;
      ncells(): number;
      select(index: number): void;
      edit_mode(): void;
    };
  };
}

describe.skipIf(!isHere)(`Jupyter Notebook 6 in a browser${title}`, () => {
  const root = mkdtempSync(path.join(tmpdir(), "notebook 6 "));
  const place = kernelEnvironment();
  let server: ChildProcess;
  let browser: Browser;
  let page: Page;
  let address: string;

  beforeAll(async () => {
    requireBuild();
    cpSync(path.join(ROOT, FOLDER), path.join(root, FOLDER), {recursive: true});
    cpSync(path.join(ROOT, "data-demo"), path.join(root, "data-demo"), {recursive: true});
    const file = path.join(root, FOLDER, "notebook.ipynb");
    const notebook = JSON.parse(readFileSync(file, "utf8"));
    const settings = notebook.cells.findIndex((cell: {cell_type: string}) => cell.cell_type === "code");
    const loader = {cell_type: "code", id: "interactive", metadata: {}, outputs: [], execution_count: null};
    notebook.cells.splice(settings + 1, 0, {...loader, source: "fp.interactive()"});
    writeFileSync(file, JSON.stringify(notebook));
    const port = await freePort();
    const program = path.join(path.dirname(jupyter.path!), "jupyter-notebook");
    assert.ok(existsSync(program), `${program} is missing`);
    const options = ["--no-browser", "--allow-root", "--ip=127.0.0.1", `--port=${port}`, "--port-retries=0"];
    server = spawn(program, [...options, "--NotebookApp.token=", "--NotebookApp.password=", root], {
      env: place.env,
      cwd: root,
      stdio: "ignore",
    });
    address = `http://127.0.0.1:${port}`;
    browser = await chromium.launch({executablePath: browserTool.path!, args: BROWSER_ARGUMENTS});
    page = await browser.newPage();
    page.setDefaultTimeout(PATIENCE_MS);
    await untilServed(`${address}/api`);
    await open(`${FOLDER}/notebook.ipynb`);
  }, PATIENCE_MS);
  afterAll(async () => {
    await browser?.close();
    server?.kill("SIGTERM");
    await new Promise(resolve => (server?.exitCode === null ? server.once("exit", resolve) : resolve(null)));
    place.remove();
    rmSync(root, {recursive: true, force: true});
  }, PATIENCE_MS);

  async function open(file: string): Promise<void> {
    await page.goto(`${address}/notebooks/${file}`);
    await page.waitForFunction(() => {
      const {kernel} = (window as unknown as JupyterPage).Jupyter?.notebook ?? {};
      return kernel?.is_connected() && kernel.info_reply?.status === "ok";
    });
  }
  /** Puts code in a new cell at the end, cursor behind it, ready for keys. */
  async function type(code: string): Promise<void> {
    await page.evaluate(text => {
      const {notebook} = (window as unknown as JupyterPage).Jupyter;
      const cell = notebook.insert_cell_at_bottom("code");
      notebook.select(notebook.ncells() - 1);
      notebook.edit_mode();
      cell.set_text(text);
      cell.focus_editor();
      cell.code_mirror.setCursor(0, text.length);
    }, code);
  }
  const lastText = () =>
    page.evaluate(() => (window as unknown as JupyterPage).Jupyter.notebook.get_cells().at(-1)!.get_text());

  it("runs all of band-time without an error", {timeout: PATIENCE_MS}, async () => {
    await page.evaluate(() => (window as unknown as JupyterPage).Jupyter.notebook.execute_all_cells());
    await page.waitForFunction(() =>
      (window as unknown as JupyterPage).Jupyter.notebook
        .get_cells()
        .every(cell => cell.cell_type !== "code" || typeof cell.input_prompt_number === "number"),
    );
    const outputs = await page.evaluate(() =>
      (window as unknown as JupyterPage).Jupyter.notebook
        .get_cells()
        .flatMap(cell => (cell.cell_type === "code" ? cell.output_area.outputs : []))
        .map(({output_type, name}) => name ?? output_type),
    );
    assert.ok(outputs.length > 10, outputs.join());
    assert.deepEqual(
      outputs.filter(kind => kind === "error" || kind === "stderr"),
      [],
    );
  });

  it("shows its figures, and they are interactive", {timeout: PATIENCE_MS}, async () => {
    await page.waitForFunction(
      count => document.querySelectorAll(".output figure .js-plotly-plot .main-svg").length >= count,
      FIGURES,
    );
    assert.equal(await page.locator(".output figure .js-plotly-plot").count(), FIGURES);
    assert.equal(await page.locator(".output figure figcaption").count(), FIGURES);
    const plot = page.locator(".output figure .js-plotly-plot").first();
    await plot.scrollIntoViewIfNeeded();
    const range = () =>
      plot.evaluate(element => {
        const {xaxis} = (element as unknown as {_fullLayout: {xaxis: {range: [number, number]}}})._fullLayout;
        return xaxis.range[1] - xaxis.range[0];
      });
    const before = await range();
    const box = (await plot.locator(".nsewdrag").first().boundingBox())!;
    const [middle, quarter] = [box.y + box.height / 2, box.width / 4];
    await page.mouse.move(box.x + quarter, middle);
    await page.mouse.down();
    await page.mouse.move(box.x + 3 * quarter, middle, {steps: 5});
    await page.mouse.up();
    await page.waitForTimeout(500); // a zoom is drawn at the next frame
    // dragged over the middle half of the time axis; a pixel of 700 is less than 1 %
    assert.ok(Math.abs((await range()) / before - 0.5) < 0.02, `${await range()} of ${before} s are left`);
  });

  it("answers Tab and Shift-Tab", {timeout: PATIENCE_MS}, async () => {
    await type("fp.printQuan");
    await page.keyboard.press("Tab");
    await page.waitForFunction(
      () =>
        (window as unknown as JupyterPage).Jupyter.notebook.get_cells().at(-1)!.get_text() ===
        "fp.printQuantity",
    );
    assert.equal(await lastText(), "fp.printQuantity");
    await page.keyboard.press("Shift+Tab");
    await page.waitForFunction(() =>
      /printQuantity\(/.test(document.querySelector("#tooltip")?.textContent ?? ""),
    );
    await page.keyboard.press("Escape");
  });

  it("interrupts an endless loop by its button, and keeps the variables", {
    timeout: PATIENCE_MS,
  }, async () => {
    await type("while (true) {}");
    await page.evaluate(() =>
      (window as unknown as JupyterPage).Jupyter.notebook.get_cells().at(-1)!.execute(),
    );
    await page.waitForTimeout(300);
    await page.click('button[data-jupyter-action="jupyter-notebook:interrupt-kernel"]');
    await page.waitForFunction(() =>
      (window as unknown as JupyterPage).Jupyter.notebook
        .get_cells()
        .at(-1)!
        .output_area.outputs.some(({ename}) => ename === "Interrupted"),
    );
    await type("result.verdict.state");
    await page.evaluate(() =>
      (window as unknown as JupyterPage).Jupyter.notebook.get_cells().at(-1)!.execute(),
    );
    await page.waitForFunction(() =>
      /shown-better/.test([...document.querySelectorAll(".output_area")].at(-1)?.textContent ?? ""),
    );
  });

  it("stores a small file, whose pictures show where nobody trusts it", {timeout: PATIENCE_MS}, async () => {
    await page.evaluate(() => (window as unknown as JupyterPage).Jupyter.notebook.save_notebook());
    const text = readFileSync(path.join(root, FOLDER, "notebook.ipynb"), "utf8");
    assert.ok(text.length < 400_000, `the file has ${text.length} bytes`);
    const stranger = JSON.parse(text);
    stranger.cells[0].source = "# Sent by a stranger";
    writeFileSync(path.join(root, FOLDER, "stranger.ipynb"), JSON.stringify(stranger));
    await open(`${FOLDER}/stranger.ipynb`);
    const trusted = await page.evaluate(() => (window as unknown as JupyterPage).Jupyter.notebook.trusted);
    assert.equal(trusted, false);
    const widths = await page.evaluate(() =>
      [...document.querySelectorAll<HTMLImageElement>('.output img[src^="data:image/svg"]')].map(
        image => image.naturalWidth,
      ),
    );
    assert.equal(widths.length, FIGURES);
    assert.ok(
      widths.every(width => width > 300),
      widths.join(),
    );
  });
});

function freePort(): Promise<number> {
  return new Promise((resolve, reject) => {
    const server = createServer();
    server.once("error", reject);
    server.listen(0, "127.0.0.1", () => {
      const {port} = server.address() as {port: number};
      server.close(() => resolve(port));
    });
  });
}

async function untilServed(url: string): Promise<void> {
  for (;;) {
    try {
      if ((await fetch(url)).ok) return;
    } catch {
      // not up yet; the hook's own limit ends this
    }
    await new Promise(done => setTimeout(done, 100));
  }
}
