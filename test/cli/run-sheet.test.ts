import assert from "node:assert/strict";
import {mkdtempSync, readFileSync, rmSync, writeFileSync} from "node:fs";
import {createRequire} from "node:module";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {pathToFileURL} from "node:url";
import {type Browser, chromium, type Page} from "playwright-core";
import {afterAll, beforeAll, describe, it} from "vitest";
import {planSession} from "../../lib/cli/plan.ts";
import type {RunSheet} from "../../lib/result/run-sheet.ts";
import {readSheet} from "../../lib/run/read-sheet.ts";
import {BROWSER_ARGUMENTS, requireTool} from "../require.ts";

const browserTool = requireTool("browser");
const axe: {source: string} = createRequire(import.meta.url)("axe-core");
const SESSION = `fairpull: 1
test: comparison
question: Does the larger intake duct with its longer name shorten the 60–110 km/h pull of the car?
primary: band-time
worthwhile: 2 %
band: {from: 60 km/h, to: 110 km/h, gear: 3}
arms: {baseline: standard duct, changed: "larger duct </script><b>"}
plan: {order: drift-balanced, runs: 16, seed: 7}
`;

describe.skipIf(browserTool.path === null)(`the run sheet in a browser${browserTool.title}`, () => {
  let browser: Browser;
  let folder: string;
  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), "fairpull-sheet-"));
    for (const name of ["open", "sealed"]) {
      writeFileSync(join(folder, `${name}.yaml`), SESSION);
      const {document} = planSession(
        `${name}.yaml`,
        {sheet: `${name}.html`, ...(name === "sealed" && {seal: "key.json"})},
        folder,
      );
      assert.equal(document.error, undefined);
    }
    browser = await chromium.launch({executablePath: browserTool.path!, args: BROWSER_ARGUMENTS});
  });
  afterAll(async () => {
    await browser?.close();
    rmSync(folder, {recursive: true, force: true});
  });

  async function open(name: string, options: object): Promise<{page: Page; complaints: string[]}> {
    const context = await browser.newContext({offline: true, acceptDownloads: true, ...options});
    const page = await context.newPage();
    const complaints: string[] = [];
    page.on("console", message => complaints.push(message.text()));
    page.on("pageerror", error => complaints.push(error.message));
    page.on("request", request => {
      if (!/^(file|data|blob):/.test(request.url())) complaints.push(request.url());
    });
    await page.goto(pathToFileURL(join(folder, `${name}.html`)).href);
    return {page, complaints};
  }

  it.each([
    [360, "light", "open"],
    [390, "dark", "sealed"],
    [1280, "light", "sealed"],
  ] as const)(
    "fits %i px (%s, %s), asks for nothing and can be used by all",
    async (width, colorScheme, name) => {
      const {page, complaints} = await open(name, {colorScheme, viewport: {width, height: 800}});
      assert.equal(await page.evaluate(() => document.documentElement.scrollWidth), width);
      assert.equal(await page.locator("tbody tr").count(), 18);
      assert.equal(await page.locator('[name$=".guess"]').count(), name === "sealed" ? 18 : 0);
      await page.evaluate(axe.source);
      const {violations} = (await page.evaluate("axe.run()")) as {
        violations: {id: string; help: string; nodes: {html: string}[]}[];
      };
      assert.deepEqual(
        violations.map(({id, help, nodes}) => `${id}: ${help} ${nodes[0].html}`),
        [],
      );
      assert.deepEqual(complaints, []);
    },
  );

  it("survives a reload half-filled, and saves a file that gather reads", async () => {
    const {page, complaints} = await open("open", {viewport: {width: 390, height: 800}});
    await page.locator('[name="1.driven"]').check();
    await page.locator('[name="1.air"]').fill("18,4");
    await page.locator('[name="2.start"]').focus();
    await page.locator('[name="day"]').fill("dry, 1009 hPa");
    await page.reload();
    assert.equal(await page.locator('[name="1.air"]').inputValue(), "18,4");
    assert.equal(await page.locator('[name="1.driven"]').isChecked(), true);
    assert.match(await page.locator('[name="2.start"]').inputValue(), /^\d\d:\d\d:\d\d$/);
    for (const time of [1, 2]) {
      const [download] = await Promise.all([page.waitForEvent("download"), page.locator("#save").click()]);
      const text = readFileSync(await download.path(), "utf8");
      const sheet: RunSheet = readSheet(text, "sheet.json");
      assert.equal(sheet.saves, time);
      assert.equal(sheet.rows.length, 18);
      assert.deepEqual(sheet.rows[2].cells, {air: "18,4"});
      assert.equal(sheet.rows[2].driven, true);
      assert.equal(sheet.day, "dry, 1009 hPa");
    }
    // emptied only when it is asked twice
    await page.locator("#clear").click();
    assert.equal(await page.locator('[name="1.air"]').inputValue(), "18,4");
    await page.locator("#clear").click();
    assert.equal(await page.locator('[name="1.air"]').inputValue(), "");
    assert.deepEqual(complaints, []);
  });

  it.each(["A4", "Letter"])("prints 16 runs on one page of %s", async format => {
    for (const name of ["open", "sealed"]) {
      const {page} = await open(name, {});
      const pdf = (await page.pdf({format})).toString("latin1");
      assert.equal(pdf.match(/\/Type\s*\/Page\b/g)?.length, 1, name);
    }
  });
  it("names no arm where the labels are sealed", () => {
    const html = readFileSync(join(folder, "sealed.html"), "utf8");
    assert.doesNotMatch(html, /standard duct|larger duct/);
    const key = JSON.parse(readFileSync(join(folder, "key.json"), "utf8")) as {salt: string};
    assert.ok(!html.includes(key.salt));
    assert.match(html, /seal sha256:[0-9a-f]{64}/);
  });
});
