import assert from "node:assert/strict";
import {inspect} from "node:util";
import {afterEach, describe, it} from "vitest";
import {DISPLAY, display} from "../../lib/figures/display.ts";
import {figure} from "../../lib/figures/figure.ts";
import {table} from "../../lib/figures/table.ts";

const SPEC = {
  id: "speed",
  caption: "Speed <of> all runs",
  alt: 'Two lines, "A" above B',
  data: [{x: [0, 1], y: [2, 3]}],
  layout: {width: 700},
};

describe("figure", () => {
  it("shows one bundle: specification with id, caption and alt, and a line of text", () => {
    assert.deepEqual(figure(SPEC)[DISPLAY](), {
      "application/vnd.plotly.v1+json": {
        data: SPEC.data,
        layout: {width: 700, meta: {fairpull: {id: "speed", caption: SPEC.caption, alt: SPEC.alt}}},
      },
      "text/plain": "Figure: Speed <of> all runs",
    });
  });

  it("adds HTML whose visible content is the picture, where there is one", () => {
    const html = figure(SPEC, {svg: "<svg>é</svg>"})[DISPLAY]()["text/html"] as string;
    const [, alt, base64] = /<img alt="([^"]*)" src="data:image\/svg\+xml;base64,([^"]*)">/.exec(html)!;
    assert.equal(alt, "Two lines, &quot;A&quot; above B");
    assert.equal(Buffer.from(base64!, "base64").toString(), "<svg>é</svg>");
    assert.match(html, /<figcaption>Speed &lt;of&gt; all runs<\/figcaption>/);
  });

  it("prints as one line on a console", () => {
    assert.equal(inspect(figure(SPEC)), "Figure: Speed <of> all runs");
  });

  it("refuses an id that is no anchor, and a figure without words", () => {
    assert.throws(() => figure({...SPEC, id: "Speed 1"}), {
      name: "RangeError",
      message: /the id "Speed 1" must be/,
    });
    assert.throws(() => figure({...SPEC, alt: " "}), {
      name: "RangeError",
      message: /needs a caption and an alt text/,
    });
  });
});

describe("table", () => {
  const spec = {
    id: "runs",
    caption: "Runs",
    columns: [{title: "arm"}, {title: "time", unit: "s", align: "right" as const}],
    rows: [
      ["a & b", 5.25],
      ["c", null],
    ],
  };

  it("shows units in the headers and a dash for what is absent", () => {
    const bundle = table(spec)[DISPLAY]();
    assert.equal(
      bundle["text/html"],
      '<table id="table-runs"><caption>Runs</caption><thead><tr><th scope="col">arm</th>' +
        '<th scope="col" style="text-align: right">time [s]</th></tr></thead><tbody>' +
        '<tr><td>a &amp; b</td><td style="text-align: right">5.25</td></tr>' +
        '<tr><td>c</td><td style="text-align: right">–</td></tr></tbody></table>',
    );
    assert.equal(bundle["text/plain"], "Runs\narm    time [s]\na & b      5.25\nc             –");
    assert.deepEqual(bundle["application/vnd.fairpull.table+json"], spec);
  });

  it("refuses rows that do not fit, and NaN", () => {
    assert.throws(
      () => table({...spec, rows: [["a"]]}),
      /row 1 of table "runs" has 1 cells, but there are 2 columns/,
    );
    assert.throws(
      () => table({...spec, rows: [["a", Number.NaN]]}),
      /row 1, column 2 of table "runs" is NaN/,
    );
    assert.throws(() => table({...spec, columns: [], rows: []}), /table "runs" has no columns/);
  });
});

describe("display", () => {
  const hook = Symbol.for("fairpull.display");
  const real = console.log;
  afterEach(() => {
    delete (globalThis as Record<symbol, unknown>)[hook];
    console.log = real;
  });

  it("hands the value to the kernel where there is one", () => {
    const seen: unknown[] = [];
    (globalThis as Record<symbol, unknown>)[hook] = (value: unknown) => seen.push(value);
    display(1);
    assert.deepEqual(seen, [1]);
  });

  it("goes to the console elsewhere", () => {
    const seen: unknown[] = [];
    console.log = (value: unknown) => seen.push(value);
    const shown = figure(SPEC);
    display(shown);
    assert.deepEqual(seen, [shown]);
  });
});
