import assert from "node:assert/strict";
import fc from "fast-check";
import {JSDOM} from "jsdom";
import {beforeAll, describe, it} from "vitest";
import type {Cell} from "../../lib/notebook/notebook.ts";
import {verdictCard} from "../../lib/publish/card.ts";
import {isBalanced, openCleaner} from "../../lib/publish/clean.ts";
import {numberText, slug} from "../../lib/publish/html.ts";
import {intervalPicture} from "../../lib/publish/interval-picture.ts";
import {createMarkdown} from "../../lib/publish/markdown.ts";
import {createReferences} from "../../lib/publish/references.ts";
import {tableHtml} from "../../lib/publish/table.ts";
import type {JudgeDocument, VerdictState} from "../../lib/result/documents.ts";
import {assertClose} from "../assert-close.ts";

const CELL: Cell = {id: "a", cell_type: "markdown", source: "", metadata: {}};

describe("openCleaner", () => {
  let clean: (html: string) => string;
  beforeAll(async () => {
    const cleaner = await openCleaner("n.ipynb");
    clean = html => cleaner(html, "a");
  });

  it("keeps text, tables and pictures, and drops what runs, styles or names itself", () => {
    assert.equal(
      clean('<p id="verdict" class="x" onclick="a()">A <b>b</b> <a name="x" href="#verdict">c</a></p>'),
      '<p id="cell-a-verdict">A <b>b</b> <a name="cell-a-x" href="#cell-a-verdict">c</a></p>',
    );
    assert.equal(clean("<script>a()</script><style>p{}</style><svg><path/></svg><form><input></form>x"), "x");
    assert.equal(
      clean('<table><tr><td style="text-align: right; position: fixed">1</td></tr></table>'),
      '<table><tbody><tr><td style="text-align: right">1</td></tr></tbody></table>',
    );
    assert.equal(clean('<a href="javascript:a()">x</a>'), "<a>x</a>");
    assert.equal(
      clean('<img src="data:image/png;base64,AA" onerror="a()">'),
      '<img src="data:image/png;base64,AA">',
    );
  });

  it("leaves nothing that runs or loads, whatever it is fed", () => {
    const piece = fc.constantFrom(
      "<svg>", "</svg>", "<math>", "<mtext>", "<textarea>", "<title>", "<noscript>", "<style>", "<img src=x onerror=a()>", "<p>", "</p>",
      "<table>", "<a href='javascript:a()'>", "<iframe srcdoc='<script>a()</script>'>", "<!--", "-->", "<![CDATA[", "]]>", "text", "&lt;script&gt;", '"', "'", ">",
    ); // biome-ignore format: a list of pieces
    fc.assert(
      fc.property(fc.array(fc.oneof(piece, fc.string({maxLength: 6})), {maxLength: 12}), pieces => {
        let safe: string;
        try {
          safe = clean(pieces.join(""));
        } catch (error) {
          assert.equal((error as Error).name, "InputError");
          return;
        }
        const {document} = new JSDOM(safe).window;
        assert.equal(document.querySelectorAll("script, style, svg, iframe, textarea, form").length, 0);
        for (const element of document.querySelectorAll("*")) {
          for (const {name, value} of element.attributes) {
            assert.doesNotMatch(name, /^on/);
            assert.doesNotMatch(value, /^\s*javascript:/i);
          }
        }
      }),
      {seed: 20, numRuns: 80},
    );
  });
});

describe("createMarkdown", () => {
  const markdown = () =>
    createMarkdown({
      file: "n.ipynb",
      picture: () => null,
      references: createReferences("n.ipynb"),
      clean: () => openCleaner("n.ipynb"),
    });

  it("gives headings anchors of their own, one title to the page", async () => {
    const page = markdown();
    await page.render("# One\n\n## Über uns\n\n## Verdict", CELL);
    await page.render("## One", CELL);
    assert.deepEqual(
      page.headings.map(({level, id}) => [level, id]),
      [
        [2, "one"],
        [2, "uber-uns"],
        [2, "verdict-2"],
        [2, "one-2"],
      ],
    );
  });

  it("tells formulas from money", async () => {
    const html = await markdown().render("from $5 to $10, but $a_1 + b$ and \\$3, $ x $", CELL);
    assert.equal(html.split('class="katex"').length - 1, 1);
    assert.match(html, /from \$5 to \$10, but /);
    assert.match(html, /and \$3, \$ x \$/);
  });

  it("keeps formulas through the cleaning of a text with HTML", async () => {
    const html = await markdown().render("<u>x</u> $a$ <script>b()</script>", CELL);
    assert.match(html, /<u>x<\/u> <span class="katex">/);
    assert.doesNotMatch(html, /<script>/);
  });

  it("keeps footnotes, references and tables through the cleaning of a text with HTML", async () => {
    const source = "<u>x</u> a[^1]\n\n## Head\n\n| a |\n|--:|\n| <b>1</b> |\n\n[^1]: note *one*";
    const html = await markdown().render(source, CELL);
    const {document} = new JSDOM(html).window;
    const link = document.querySelector(".footnote-ref a")!;
    assert.ok(document.getElementById(link.getAttribute("href")!.slice(1)), html);
    assert.equal(document.querySelector(".footnotes li")!.textContent!.trim().startsWith("note one"), true);
    assert.equal(document.querySelector("h2")!.id, "head");
    assert.equal(document.querySelector("td")!.getAttribute("style"), "text-align:right");
    assert.equal(document.querySelector("td b")!.textContent, "1");
  });

  it("refuses HTML that would tear open the page around it", async () => {
    for (const source of ["a </div></main><h1>x</h1>", "<table><tr><td>a\n\n| b |\n|--|\n| c |"]) {
      const html = await markdown()
        .render(source, CELL)
        .catch(error => (assert.equal((error as Error).name, "InputError"), null));
      if (html !== null) assert.equal(isBalanced(html), true, html);
    }
    assert.equal(isBalanced("<p>a<br></p>"), true);
    assert.equal(isBalanced("<p>a</p></div>"), false);
  });

  it("marks callouts, by GitHub's mark or by a first word in bold", async () => {
    const html = await markdown().render(
      "> [!WARNING]\n> Hot *parts*.\n\n> **Caution.** Cold.\n\n> said",
      CELL,
    );
    const {document} = new JSDOM(html).window;
    const [first, second] = [...document.querySelectorAll(".callout")];
    assert.deepEqual(
      [first!.className, first!.textContent!.trim()],
      ["callout warning", "Warning\nHot parts."],
    );
    assert.deepEqual([second!.className, second!.textContent!.trim()], ["callout caution", "Caution. Cold."]);
    assert.equal(document.querySelectorAll("blockquote").length, 1);
  });

  it("keeps footnotes of two cells apart", async () => {
    const page = markdown();
    const first = await page.render("a[^1]\n\n[^1]: x", CELL);
    const second = await page.render("b[^1]\n\n[^1]: y", {...CELL, id: "b"});
    const ids = [...(first + second).matchAll(/ id="([^"]+)"/g)].map(match => match[1]);
    assert.equal(new Set(ids).size, ids.length);
  });
});

describe("tableHtml", () => {
  const made = (rows: (string | number | null)[][]) =>
    new JSDOM(
      tableHtml(
        {id: "t", caption: "C", columns: ["a", "b", "c", "d"].map(title => ({title})), rows},
        {kind: "Table", number: 1, anchor: "table-t"},
      ),
    ).window.document;

  it("names each cell of a table with sentences, so that its rows can be stacked on a telephone", () => {
    const table = made([["x", "long ".repeat(20), null, -1]]);
    assert.equal(table.querySelector("table")!.className, "wordy");
    assert.deepEqual(
      [...table.querySelectorAll("td")].map(cell => [cell.getAttribute("data-label"), cell.className]),
      [
        ["a", ""],
        ["b", ""],
        ["c", "empty"],
        ["d", ""],
      ],
    );
  });

  it("leaves a table of numbers a table, and keeps a short one on one sheet", () => {
    const table = made([[1, -2, null, "3"]]);
    assert.equal(table.querySelector("table")!.className, "");
    assert.equal(table.querySelector("td:nth-child(2)")!.textContent, "−2");
    assert.ok(table.querySelector(".scroll.short"));
    assert.equal(made(Array.from({length: 17}, () => [1, 2, 3, 4])).querySelector(".short"), null);
  });
});

describe("intervalPicture", () => {
  it("draws to scale about zero in the middle", () => {
    const svg = intervalPicture({estimate: -0.1, low: -0.2, high: 0, worthwhile: 0.1, unit: "s", digits: 2});
    const {document} = new JSDOM(svg).window;
    const percent = (selector: string, name: string) =>
      Number.parseFloat(document.querySelector(selector)!.getAttribute(name)!);
    // By hand: the axis reaches 0.2 · 1.12 = 0.224 either way; −0.1 lies at 50 − 50 · 0.1/0.224 = 27.68 %.
    assertClose(percent("circle", "cx"), 27.68, 0.005); // half of the last printed digit
    assertClose(percent("line.interval", "x1"), 50 - (50 * 0.2) / 0.224, 0.005);
    assertClose(percent("line.interval", "x2"), 50, 0.005);
    assertClose(percent("rect.worthwhile", "x"), 27.68, 0.005);
    assertClose(percent("rect.worthwhile", "width"), 44.64, 0.005);
    assert.equal(
      document.querySelector("svg")!.getAttribute("aria-label"),
      "Estimate −0.10 s, interval −0.20 to 0.00 s; differences within ±0.10 s are not worthwhile",
    );
  });

  it("does without a worthwhile difference, and without any size", () => {
    const svg = intervalPicture({estimate: 0, low: 0, high: 0, worthwhile: null, unit: "W", digits: 0});
    assert.doesNotMatch(svg, /NaN|Infinity|worthwhile/);
  });
});

describe("verdictCard", () => {
  const document = (state: VerdictState, more: Partial<JudgeDocument> = {}): JudgeDocument => ({
    format: "fairpull.judge/1",
    test: "comparison",
    question: "Does <it> help?",
    primary: "band-time",
    unit: "s",
    arms: {
      baseline: {label: "old", n: 2, mean: 5, sd: 0.1, precision: null},
      changed: {label: "new", n: 2, mean: 5, sd: 0.1, precision: null},
    },
    effect: {
      estimate: null,
      unit: "s",
      percent: null,
      interval: null,
      model: "arm",
      df: null,
      check: null,
      beside: [],
    },
    look: {kind: "final", look: 1, runs: 4, planned_at: [], nominal_p: 0.05, false_alarm: null},
    permutation: null,
    equivalence: null,
    worthwhile: {value: 2, unit: "%", in_primary_unit: null},
    verdict: {
      state,
      size: null,
      words: "Words.",
      next: "Drive on.",
      silent: "Nothing.",
      fragile: null,
      further: null,
    },
    robustness: null,
    exploratory: {measures: [], method: "none"},
    fittings: {baseline: 2, changed: 2, words: "2 and 2 fittings", spread: null},
    runs: [],
    checks: [],
    excluded: [],
    seed: 1,
    versions: {},
    inputs: [],
    ...more,
  });

  it("has words for every state, and says what it does not say, hangs on and risks", () => {
    const expected: [VerdictState, string][] = [
      ["shown-better", "Shown better"],
      ["shown-worse", "Shown worse"],
      ["shown-different", "Shown different"],
      ["no-worthwhile-difference", "No worthwhile difference"],
      ["not-settled", "Not settled"],
      ["not-a-fair-test", "Not a fair test"],
      ["too-few-runs", "Too few runs"],
    ];
    for (const [state, words] of expected) {
      const html = verdictCard(document(state));
      assert.ok(html.includes(`<p class="state">${words}</p>`), state);
      assert.match(html, /<dt>Not said<\/dt><dd>Nothing\.<\/dd>/);
      assert.doesNotMatch(html, /<dt>(Hangs on|Looks|Planned, blind)/);
    }
    const base = document("shown-better");
    const html = verdictCard(
      {
        ...base,
        verdict: {...base.verdict, fragile: "With run 3 put back: not settled."},
        look: {...base.look, look: 2, runs: 8, false_alarm: 0.0861},
      },
      {planned: {isPlanned: false, words: "not as planned: x"}, blind: "not blind", items: []},
    );
    assert.match(html, /<dt>Hangs on<\/dt><dd>With run 3 put back/);
    assert.match(html, /look 2 at 8 runs; .* on 8\.6 % of days/);
    assert.match(html, /<dt>Planned, blind<\/dt><dd>not as planned: x; not blind/);
  });

  it("shows a corrected answer beside that as driven, and warns where it rests on the correction", () => {
    const correction = {
      words: {raw: "−0.223 s: shown better", size: "+0.036 s in the difference"},
      warnings: ["the correction is larger than what is left", "without it: not settled"],
    } as unknown as NonNullable<JudgeDocument["correction"]>;
    const html = verdictCard(document("shown-better", {correction}));
    assert.match(html, /<dt>As driven<\/dt><dd>−0\.223 s: shown better<\/dd>/);
    assert.match(html, /<dt>Correction<\/dt><dd>\+0\.036 s in the difference<\/dd>/);
    assert.match(
      html,
      /<dt>Warning<\/dt><dd>the correction is larger than what is left; without it: not settled/,
    );
    const calm = verdictCard(document("shown-better", {correction: {...correction, warnings: []}}));
    assert.doesNotMatch(calm, /<dt>Warning/);
    assert.doesNotMatch(verdictCard(document("shown-better")), /<dt>(As driven|Correction)/);
  });

  it("shows no picture and no row where there is no estimate", () => {
    const html = verdictCard(document("too-few-runs"));
    assert.doesNotMatch(html, /<svg|<dt>Difference|<dt>Interval|NaN|null/);
    assert.match(html, /Does &lt;it&gt; help\?/);
    assert.match(html, /±2 % or more, as the session declares/);
  });
});

describe("html", () => {
  it("writes numbers with a true minus, and zero without a sign", () => {
    assert.equal(numberText(-1.25, 1), "−1.3");
    assert.equal(numberText(0.04, 1, true), "0.0");
    assert.equal(numberText(2, 0, true), "+2");
  });
  it("makes anchors of any heading", () => {
    assert.equal(slug("Überall: 60–110 km/h!"), "uberall-60-110-km-h");
    assert.equal(slug("!?"), "section");
  });
});
