import assert from "node:assert/strict";
import {mkdtemp, rm} from "node:fs/promises";
import {createRequire} from "node:module";
import {tmpdir} from "node:os";
import path from "node:path";
import {fileURLToPath, pathToFileURL} from "node:url";
import {type Browser, type BrowserContextOptions, chromium, type Page} from "playwright-core";
import {afterAll, beforeAll, describe, it} from "vitest";
import {publishIndex} from "../../lib/dist/publish/index-page.js";
import {publishNotebook} from "../../lib/dist/publish/publish.js";
import {BROWSER_ARGUMENTS, requireTool} from "../require.ts";

const browserTool = requireTool("browser");
const notebook = fileURLToPath(new URL("../fixtures/notebooks/whole.ipynb", import.meta.url));
const axe: {source: string} = createRequire(import.meta.url)("axe-core");

/** WCAG 2.2 AA on the page and the index, one test a demand; numbers in brackets are its success criteria. */
describe.skipIf(browserTool.path === null)(`pages for everybody${browserTool.title}`, () => {
  let folder: string;
  let browser: Browser;
  let address: string;
  let index: string;

  beforeAll(async () => {
    folder = await mkdtemp(path.join(tmpdir(), "fairpull-access-"));
    const page = await publishNotebook(notebook, {out: path.join(folder, "page.html")});
    const other = {...page, title: "Another", date: "2026-01-02", car: "a van", result: null, verdict: null};
    index = pathToFileURL(await publishIndex([page, other], {out: path.join(folder, "index.html")})).href;
    address = pathToFileURL(page.page).href;
    browser = await chromium.launch({executablePath: browserTool.path!, args: BROWSER_ARGUMENTS});
  });
  afterAll(async () => {
    await browser?.close();
    await rm(folder, {recursive: true, force: true});
  });

  async function open(options: BrowserContextOptions, at = address): Promise<Page> {
    const page = await (await browser.newContext({offline: true, ...options})).newPage();
    await page.goto(at);
    return page;
  }

  async function wakeFigures(page: Page): Promise<void> {
    for (const figure of await page.locator("figure.plot").all()) {
      await figure.scrollIntoViewIfNeeded();
      await figure.locator(".live .main-svg").first().waitFor();
    }
  }

  it("whole page by keyboard, focus always seen (2.1.1, 2.4.7, 2.4.11)", async () => {
    // without smooth scrolling, whose way takes longer than the next key
    const page = await open({viewport: {width: 1280, height: 900}, reducedMotion: "reduce"});
    await wakeFigures(page);
    await page.evaluate(() => scrollTo(0, 0));
    const wanted = await page.evaluate(
      () =>
        [
          ...document.querySelectorAll<HTMLElement>(
            "a[href], button, summary, [tabindex='0'], input, select",
          ),
        ].filter(element => element.checkVisibility() && element.tabIndex >= 0).length,
    );
    const reached = new Set<string>();
    for (let i = 0; i < wanted + 5; i++) {
      await page.keyboard.press("Tab");
      const seen = await page.evaluate(() => {
        const element = document.activeElement as HTMLElement;
        if (element === document.body) return null;
        const {outlineStyle, outlineWidth} = getComputedStyle(element);
        const box = element.getBoundingClientRect();
        (globalThis as {marks?: Map<Element, number>}).marks ??= new Map();
        const marks = (globalThis as unknown as {marks: Map<Element, number>}).marks;
        if (!marks.has(element)) marks.set(element, marks.size);
        return {
          mark: String(marks.get(element)),
          what: `${element.tagName} ${element.className} ${element.textContent?.slice(0, 30)}`,
          outlined: outlineStyle !== "none" && Number.parseFloat(outlineWidth) >= 2,
          inView: box.bottom > 0 && box.top < innerHeight && box.width > 0,
        };
      });
      if (!seen) continue;
      reached.add(seen.mark);
      assert.ok(seen.outlined, `no focus is seen on ${seen.what}`);
      assert.ok(seen.inView, `${seen.what} has the focus out of sight`);
    }
    assert.ok(reached.size >= wanted, `${reached.size} of ${wanted} were reached`);
    const figure = page.locator("figure.plot").first();
    await figure.locator(".live").focus();
    await page.keyboard.press("ArrowRight");
    await page.keyboard.press("ArrowRight");
    assert.match((await figure.locator(".said").textContent())!, /point 2 of \d+: .*\d/);
    await page.context().close();
  });

  it("reflow at 320 CSS px: nothing but tables and code scrolls sideways (1.4.10)", async () => {
    for (const at of [address, index]) {
      const page = await open({viewport: {width: 320, height: 800}}, at);
      await page.evaluate(() => {
        for (const details of document.querySelectorAll("details")) details.open = true;
      });
      assert.equal(await page.evaluate(() => document.documentElement.scrollWidth), 320, at);
      await page.context().close();
    }
  });

  it("text at 200 %: nothing cut, nothing sideways (1.4.4), and with wide spacing (1.4.12)", async () => {
    const page = await open({viewport: {width: 1280, height: 900}});
    for (const css of [
      "html { font-size: 200% }",
      "* { line-height: 1.5 !important; letter-spacing: 0.12em !important; word-spacing: 0.16em !important } p { margin-bottom: 2em !important }",
    ]) {
      const style = await page.addStyleTag({content: css}).catch(() => null);
      assert.ok(style !== null);
      const cut = await page.evaluate(() =>
        [...document.querySelectorAll<HTMLElement>("main *, footer *")]
          .filter(element => {
            const {overflowX, overflowY} = getComputedStyle(element);
            const clips = overflowX === "hidden" || overflowY === "hidden";
            const isOwn = element.closest(".live, .katex, svg") === null;
            return (
              clips && isOwn && element.checkVisibility() && element.scrollHeight > element.clientHeight + 1
            );
          })
          .map(element => element.className),
      );
      assert.deepEqual(cut, []);
      assert.equal(await page.evaluate(() => document.documentElement.scrollWidth), 1280);
    }
    await page.context().close();
  });

  it("forced colours: state, interval and focus stay to be seen", async () => {
    const page = await open({forcedColors: "active", viewport: {width: 800, height: 900}});
    const colours = await page.evaluate(() => {
      const of = (selector: string, name: "stroke" | "fill" | "color") =>
        getComputedStyle(document.querySelector(selector)!)[name];
      return {
        paper: getComputedStyle(document.body).backgroundColor,
        shown: [
          of("#verdict .state", "color"),
          of(".interval-picture .interval", "stroke"),
          of(".interval-picture .zero", "stroke"),
          of(".interval-picture .estimate", "fill"),
          of(".interval-picture text", "fill"),
          of(".interval-picture .worthwhile", "fill"),
        ],
      };
    });
    for (const colour of colours.shown) assert.notEqual(colour, colours.paper);
    await page.context().close();
  });

  it("reduced motion: nothing moves by itself (2.3.3)", async () => {
    const page = await open({reducedMotion: "reduce"});
    const moving = await page.evaluate(() => ({
      scroll: getComputedStyle(document.documentElement).scrollBehavior,
      animations: document.getAnimations().length,
    }));
    assert.deepEqual(moving, {scroll: "auto", animations: 0});
    await page.context().close();
  });

  it("greyscale print: what is told is told in words and shapes too (1.4.1)", async () => {
    const page = await open({viewport: {width: 800, height: 1000}});
    await page.emulateMedia({media: "print"});
    const grey = (colour: string) => {
      const [r, g, b] = colour.match(/[\d.]+/g)!.map(Number);
      return 0.2126 * r! + 0.7152 * g! + 0.0722 * b!; // luma of Rec. 709
    };
    const [bar, band, paper] = await page.evaluate(() => [
      getComputedStyle(document.querySelector(".interval-picture .interval")!).stroke,
      getComputedStyle(document.querySelector(".interval-picture .worthwhile")!).fill,
      getComputedStyle(document.querySelector(".interval-picture .estimate")!).stroke,
    ]);
    assert.ok(Math.abs(grey(bar!) - grey(band!)) > 80, `${bar} on ${band}`);
    assert.ok(Math.abs(grey(band!) - grey(paper!)) > 10, `${band} on ${paper}`);
    const state = (await page.locator("#verdict .state").textContent())!;
    assert.match(state, /^Shown better$/);
    await page.context().close();
  });

  it("no fault that axe finds in print, and none on the index, light and dark", async () => {
    for (const [at, options] of [
      [address, {media: "print"}],
      [index, {colorScheme: "light"}],
      [index, {colorScheme: "dark"}],
    ] as const) {
      const page = await open({viewport: {width: 800, height: 900}}, at);
      await page.emulateMedia(options);
      await page.evaluate(axe.source);
      const faults = await page.evaluate(async () => {
        const {violations} = await (
          globalThis as unknown as {
            axe: {run(): Promise<{violations: {id: string; nodes: {target: string[]}[]}[]}>};
          }
        ).axe.run();
        return violations.map(({id, nodes}) => `${id}: ${nodes.map(node => node.target).join(", ")}`);
      });
      assert.deepEqual(faults, [], `${at} ${JSON.stringify(options)}`);
      await page.context().close();
    }
  });

  it("prints every text of the page, no figure cut: each lies on one sheet", async () => {
    const page = await open({});
    const text = await page.evaluate(() => {
      const shown = document.querySelector("main")!.innerText;
      return shown.split(/\s+/).filter(word => /^\p{L}{5,}$/u.test(word));
    });
    await page.emulateMedia({media: "print"});
    const printed = new Set(
      await page.evaluate(() =>
        document
          .querySelector("main")!
          .innerText.split(/\s+/)
          .map(word => word.toLowerCase()),
      ),
    );
    // what paper leaves away: buttons, contents and the marks of folded code
    const left = text.filter(
      word => !printed.has(word.toLowerCase()) && !/^(contents|numbers|figure)$/i.test(word),
    );
    assert.deepEqual(left, []);
    const avoid = await page.evaluate(() =>
      [...document.querySelectorAll("figure, .short, .callout, #verdict dl div")].map(
        element => getComputedStyle(element).breakInside,
      ),
    );
    assert.ok(avoid.length > 5);
    assert.ok(avoid.every(value => value === "avoid"));
    for (const format of ["A4", "Letter"]) assert.ok((await page.pdf({format})).length > 20_000);
    await page.context().close();
  });

  it("index: narrowed by words and verdict, sorted, and whole without a script", async () => {
    const page = await open({}, index);
    const titles = () => page.locator(".pages h2").allTextContents();
    assert.equal((await titles()).length, 2);
    await page.locator("#words").fill("van");
    assert.deepEqual(await titles(), ["Another"]);
    assert.equal(await page.locator("#found").textContent(), "1 of 2");
    await page.locator("#words").fill("");
    await page.locator("#state").selectOption("shown-better");
    assert.equal((await titles()).length, 1);
    await page.locator("#state").selectOption("");
    await page.locator("#order").selectOption("date");
    assert.equal((await titles())[0], "Another"); // 2026 before 2025
    await page.context().close();
    const still = await open({javaScriptEnabled: false}, index);
    assert.equal(await still.locator(".filters").isVisible(), false);
    assert.equal(await still.locator(".pages li").count(), 2);
    await still.context().close();
  });
});
