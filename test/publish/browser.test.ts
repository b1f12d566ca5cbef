import assert from "node:assert/strict";
import {mkdtemp, rm} from "node:fs/promises";
import {createRequire} from "node:module";
import {tmpdir} from "node:os";
import path from "node:path";
import {fileURLToPath, pathToFileURL} from "node:url";
import {type Browser, type BrowserContextOptions, chromium, type Page} from "playwright-core";
import {afterAll, beforeAll, describe, it} from "vitest";
import {publishNotebook} from "../../lib/dist/publish/publish.js";
import {BROWSER_ARGUMENTS, requireTool} from "../require.ts";

const browserTool = requireTool("browser");
const notebook = fileURLToPath(new URL("../fixtures/notebooks/whole.ipynb", import.meta.url));
const axe: {source: string} = createRequire(import.meta.url)("axe-core");

const PHONE = {width: 390, height: 844};
const DESK = {width: 1280, height: 900};

describe.skipIf(browserTool.path === null)(`a published page in a browser${browserTool.title}`, () => {
  let folder: string;
  let address: string;
  let browser: Browser;
  /** the page with every figure awake; the tests below look at it one after the other */
  let page: Page;
  /** what it complained about or asked for so far */
  const complaints: string[] = [];

  beforeAll(async () => {
    folder = await mkdtemp(path.join(tmpdir(), "fairpull-page-"));
    const file = path.join(folder, "page.html");
    const [opened] = await Promise.all([
      chromium.launch({executablePath: browserTool.path!, args: BROWSER_ARGUMENTS}),
      publishNotebook(notebook, {out: file}),
    ]);
    browser = opened;
    address = pathToFileURL(file).href;
    page = await open({viewport: DESK});
    page.on("console", message => complaints.push(`console: ${message.text()}`));
    page.on("pageerror", error => complaints.push(`error: ${error.message}`));
    page.on("request", request => {
      if (request.url() !== address && !/^(data|blob):/.test(request.url())) complaints.push(request.url());
    });
    await page.goto(address);
    for (const figure of await page.locator("figure.plot").all()) {
      await figure.scrollIntoViewIfNeeded();
      await figure.locator(".live .main-svg").first().waitFor();
    }
  });
  afterAll(async () => {
    await browser?.close();
    await rm(folder, {recursive: true, force: true});
  });

  /** A blank page without a network. */
  async function open(options: BrowserContextOptions): Promise<Page> {
    return (await browser.newContext({offline: true, ...options})).newPage();
  }

  it("asks for nothing from anywhere and complains of nothing", () => {
    assert.deepEqual(complaints, []);
  });

  it("wakes its figures: one answers to the mouse with the value under it", async () => {
    await page.locator("figure.plot .scatterlayer .point").first().hover({force: true});
    const shown = await page.locator(".hoverlayer .hovertext").first().textContent();
    assert.match(shown!, /5\.31/); // the first baseline time of the notebook
    assert.equal(await page.locator("figure.plot picture").isVisible(), false);
  });

  it("prints the pictures, not the living figures, and leaves folded code away", async () => {
    await page.emulateMedia({media: "print"});
    assert.equal(await page.locator("figure.plot img").isVisible(), true);
    assert.equal(await page.locator("figure.plot .live").isVisible(), false);
    assert.equal(await page.locator("details.code").first().isVisible(), false);
    await page.emulateMedia({media: "screen"});
  });

  it("leads from text to figure and table, and from the contents to the headings", async () => {
    const links = await page
      .locator('a[href^="#"]')
      .evaluateAll(all => all.map(link => link.getAttribute("href")!.slice(1)));
    const lost = await page.evaluate(ids => ids.filter(id => !document.getElementById(id)), links);
    assert.ok(links.length > 5);
    assert.deepEqual(lost, []);
    const ids = await page.locator("[id]").evaluateAll(all => all.map(element => element.id));
    assert.equal(new Set(ids).size, ids.length);
  });

  it("folds and unfolds all code at once", async () => {
    const unfolded = () => page.locator("details.code[open]").count();
    const all = await page.locator("details.code").count();
    assert.ok(all > 3);
    await page.locator("#all-code").click();
    assert.equal(await unfolded(), all);
    await page.locator("#all-code").click();
    assert.equal(await unfolded(), 0);
  });

  it("has no fault that axe finds, light and dark, on telephone and desk, and fits both", async () => {
    await page.evaluate(() => {
      for (const details of document.querySelectorAll("details")) details.open = true;
    });
    await page.evaluate(axe.source);
    for (const viewport of [PHONE, DESK]) {
      await page.setViewportSize(viewport);
      await page.waitForFunction(
        width => document.querySelector(".live .main-svg")!.getBoundingClientRect().width <= width,
        viewport.width,
      );
      // nothing but tables and code scrolls sideways
      assert.equal(await page.evaluate(() => document.documentElement.scrollWidth), viewport.width);
      for (const colorScheme of ["light", "dark"] as const) {
        await page.emulateMedia({colorScheme});
        const {violations, passes} = await page.evaluate(() =>
          (globalThis as unknown as {axe: {run(): Promise<AxeResult>}}).axe.run(),
        );
        const faults = violations.map(({id, nodes}) => `${id}: ${nodes.map(node => node.target).join(", ")}`);
        assert.deepEqual(faults, [], `${colorScheme}, ${viewport.width} px`);
        assert.ok(
          passes.some(rule => rule.id === "color-contrast"),
          "axe did not look at the contrast",
        );
      }
    }
  });

  it("lets no script, picture or request in that is not its own", async () => {
    const blocked = await page.evaluate(async () => {
      const violations: string[] = [];
      document.addEventListener("securitypolicyviolation", event =>
        violations.push(event.effectiveDirective),
      );
      const script = document.createElement("script");
      script.textContent = "window.injected = true";
      document.body.append(script);
      const image = document.createElement("img");
      image.src = "https://example.org/x.png";
      document.body.append(image);
      await fetch("https://example.org/").catch(() => {});
      await new Promise(done => setTimeout(done, 100));
      return {violations: violations.sort(), injected: "injected" in window, broken: "broken" in window};
    });
    assert.deepEqual(blocked, {
      violations: ["connect-src", "img-src", "script-src-elem"],
      injected: false,
      broken: false,
    });
  });

  it("works without script: pictures are there and code unfolds", async () => {
    const still = await open({viewport: DESK, javaScriptEnabled: false});
    await still.goto(address);
    const width = await still
      .locator("figure.plot img")
      .evaluate(image => (image as HTMLImageElement).naturalWidth);
    assert.equal(width, 720);
    const code = still.locator("details.code").first();
    assert.equal(await code.locator("pre").isVisible(), false);
    await code.locator("summary").click();
    assert.equal(await code.locator("pre").isVisible(), true);
    assert.equal(await still.locator("#all-code").isVisible(), false);
  });
});

interface AxeResult {
  violations: {id: string; nodes: {target: string[]}[]}[];
  passes: {id: string}[];
}
