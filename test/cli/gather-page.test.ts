import assert from "node:assert/strict";
import {copyFileSync, mkdtempSync, rmSync} from "node:fs";
import {createRequire} from "node:module";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {fileURLToPath, pathToFileURL} from "node:url";
import {type Browser, chromium} from "playwright-core";
import {afterAll, beforeAll, describe, it} from "vitest";
import {gatherRuns} from "../../lib/cli/gather.ts";
import {BROWSER_ARGUMENTS, requireTool} from "../require.ts";

const browserTool = requireTool("browser");
const axe: {source: string} = createRequire(import.meta.url)("axe-core");
const demo = fileURLToPath(new URL("../../data-demo/intake-elbow/", import.meta.url));

describe.skipIf(browserTool.path === null)(`the page of runs in a browser${browserTool.title}`, () => {
  let browser: Browser;
  let folder: string;
  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), "fairpull-runs-page-"));
    copyFileSync(
      join(demo, "run-01.csv"),
      join(folder, "a_very_long_name_without_any_blank_in_it_".repeat(3) + ".csv"),
    );
    for (const file of ["run-02.csv", "run-03.csv", "truth.json"])
      copyFileSync(join(demo, file), join(folder, file));
    assert.equal(gatherRuns(".", {}, folder).exitCode, 0);
    browser = await chromium.launch({executablePath: browserTool.path!, args: BROWSER_ARGUMENTS});
  });
  afterAll(async () => {
    await browser?.close();
    rmSync(folder, {recursive: true, force: true});
  });

  for (const [width, colorScheme] of [
    [390, "light"],
    [1280, "dark"],
  ] as const) {
    it(`fits ${width} px, asks for nothing and can be read by all (${colorScheme})`, async () => {
      const page = await (
        await browser.newContext({offline: true, colorScheme, viewport: {width, height: 900}})
      ).newPage();
      const complaints: string[] = [];
      page.on("console", message => complaints.push(message.text()));
      page.on("request", request => {
        if (!/^(file|data):/.test(request.url())) complaints.push(request.url());
      });
      await page.goto(pathToFileURL(join(folder, "session-runs.html")).href);
      assert.equal(await page.evaluate(() => document.documentElement.scrollWidth), width);
      assert.equal(await page.locator("svg .trace").count(), 3);
      // every trace lies within its picture
      const inside = await page.evaluate(() =>
        [...document.querySelectorAll("svg")].every(svg => {
          const box = (svg.querySelector(".trace") as SVGPathElement).getBBox();
          return box.x >= 0 && box.y >= 0 && box.x + box.width <= 340 && box.y + box.height <= 160;
        }),
      );
      assert.ok(inside);
      // who labels a run should not know its result
      assert.doesNotMatch((await page.textContent("main"))!, /5\.\d\d? s/);
      await page.evaluate(axe.source);
      const {violations} = (await page.evaluate("axe.run()")) as {violations: {id: string; help: string}[]};
      assert.deepEqual(
        violations.map(({id, help}) => `${id}: ${help}`),
        [],
      );
      assert.deepEqual(complaints, []);
    });
  }
});
