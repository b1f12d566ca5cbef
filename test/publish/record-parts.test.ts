import assert from "node:assert/strict";
import fc from "fast-check";
import {describe, it} from "vitest";
import type {Output} from "../../lib/notebook/notebook.ts";
import {sourceMark} from "../../lib/notebook/source-mark.ts";
import {isInRange} from "../../lib/notebook/version-range.ts";
import {csvText} from "../../lib/publish/download.ts";
import {figureData, figureDataHtml} from "../../lib/publish/figure-data.ts";
import {storedOutputs} from "../../lib/publish/stored.ts";
import {notebookOf} from "../kernel/notebook-of.ts";

const figure = (data: unknown[], layout: Record<string, unknown> = {}) => ({
  data,
  layout,
  id: "f",
  caption: "c",
  alt: "a",
});

describe("figureData", () => {
  it("lists every plotted point with its series, its axes' titles and its error bar", () => {
    const data = figureData(
      figure(
        [
          {
            type: "scatter",
            name: "baseline<br>old",
            x: [1, 2],
            y: [5.25, null],
            error_y: {array: [0.1, 0.2]},
          },
          {type: "box", y: [5, 6]},
        ],
        {xaxis: {title: {text: "run"}}, yaxis: {title: "time [s]"}},
      ),
    )!;
    assert.deepEqual(data.columns, ["series", "run", "time [s]", "± bar"]);
    assert.deepEqual(data.rows, [
      ["baseline old", 1, 5.25, 0.1],
      ["baseline old", 2, null, 0.2],
      ["series 2", null, 5, null],
      ["series 2", null, 6, null],
    ]);
  });

  it("lists a grid by its places", () => {
    const {columns, rows} = figureData(figure([{type: "heatmap", x: [10, 20], y: ["a"], z: [[1, 2]]}]))!;
    assert.deepEqual(columns, ["series", "x", "y", "z"]);
    assert.deepEqual(rows, [
      ["series 1", 10, "a", 1],
      ["series 1", 20, "a", 2],
    ]);
  });

  it("thins long series evenly, keeps first and last, and says so", () => {
    const x = Array.from({length: 5000}, (_, i) => i);
    const data = figureData(figure([{x, y: x}]))!;
    assert.equal(data.points, 5000);
    assert.equal(data.rows.length, 360);
    assert.deepEqual([data.rows[0]![1], data.rows.at(-1)![1]], [0, 4999]);
    assert.match(figureDataHtml(data, 3), /360 of 5000 points, evenly thinned/);
  });

  it("has nothing for a figure without points, and escapes what a figure brings along", () => {
    assert.equal(figureData(figure([{type: "table", cells: {}}])), null);
    assert.equal(figureDataHtml(null, 1), "");
    const html = figureDataHtml(figureData(figure([{name: "<img src=x>", x: ["<script>"], y: [-1]}])), 1);
    assert.doesNotMatch(html, /<img|<script/);
    assert.match(html, /−1</);
  });

  it("takes any JSON without failing", () => {
    fc.assert(
      fc.property(
        fc.array(fc.dictionary(fc.constantFrom("x", "y", "z", "name", "type", "error_y"), fc.jsonValue())),
        data => {
          const found = figureData(figure(data));
          assert.doesNotMatch(figureDataHtml(found, 1), /NaN|undefined|\[object/);
        },
      ),
      {seed: 7, numRuns: 200},
    );
  });
});

describe("csvText", () => {
  it('keeps numbers, quotes what needs it, and disarms formulas (OWASP, "CSV Injection")', () => {
    assert.equal(
      csvText(
        ["a", "b"],
        [
          [-1.5, "-2.5e3"],
          ["=1+1", "+cmd|x"],
          ["-x", "@SUM(A1)"],
          ['say "a", b', null],
          ["\tx", "plain"],
        ],
      ),
      'a,b\r\n-1.5,-2.5e3\r\n"\'=1+1","\'+cmd|x"\r\n"\'-x","\'@SUM(A1)"\r\n"say ""a"", b",\r\n"\'\tx",plain\r\n',
    );
  });

  it("never starts a cell that a spreadsheet would compute", () => {
    fc.assert(
      fc.property(fc.string({maxLength: 12}), text => {
        const cell = csvText([text], []).trimEnd();
        const content = cell.startsWith('"') ? cell.slice(1) : cell;
        const isNumber = /^[-+]?[\d.]+(e[-+]?\d+)?$/i.test(content);
        assert.ok(isNumber || !/^[=+\-@\t\r]/.test(content), JSON.stringify(cell));
      }),
      {seed: 8, numRuns: 500},
    );
  });
});

describe("isInRange", () => {
  it('reads ranges as npm does (docs.npmjs.com, semver, "Advanced Range Syntax")', () => {
    const rows: [string, string, boolean | null][] = [
      ["0.1.0", "^0.1.0", true],
      ["0.1.9", "^0.1.0", true],
      ["0.2.0", "^0.1.0", false],
      ["0.0.4", "^0.0.3", false],
      ["1.9.0", "^1.2.3", true],
      ["1.2.2", "^1.2.3", false],
      ["2.0.0", "^1.2.3", false],
      ["1.2.9", "~1.2.3", true],
      ["1.3.0", "~1.2.3", false],
      ["1.3.0", "~1", true],
      ["1.5.0", ">=1.0.0 <2", true],
      ["2.0.0", ">=1.0.0 <2", false],
      ["1.2.3", "1.2.3", true],
      ["1.2.4", "1.2.x", true],
      ["1.3.0", "1.2.x", false],
      ["3.0.0", "*", true],
      ["3.1.0", "^1.0.0 || ^3.0.0", true],
      ["1.2.3", "<=1.2", true],
      ["1.3.0", ">1.2", true],
      ["1.2.9", ">1.2", false],
      ["0.1.0", "newest", null],
    ];
    for (const [version, range, expected] of rows) {
      assert.equal(isInRange(version, range), expected, `${version} in ${range}`);
    }
  });
});

describe("storedOutputs", () => {
  const text: Output = {output_type: "stream", name: "stdout", text: "5.3\n"};
  const ran = (counts: (number | null)[], outputs: Output[][] = []) => {
    const notebook = notebookOf(...counts.map((_, i) => `${i} + 1`));
    for (const [i, count] of counts.entries()) {
      notebook.cells[i]!.execution_count = count;
      notebook.cells[i]!.outputs = outputs[i] ?? [text];
    }
    return notebook;
  };

  it("takes outputs as they are where every cell was run in its turn", () => {
    const {outputs, wasRun} = storedOutputs(ran([1, 2, 5]), "n.ipynb");
    assert.equal(wasRun, false);
    assert.deepEqual(outputs, [[text], [text], [text]]);
  });

  it("refuses what can be seen to be out of date, and a failed cell", () => {
    const marked: Output = {
      output_type: "display_data",
      data: {"text/plain": "x"},
      metadata: sourceMark("an older source"),
    };
    const failed: Output = {output_type: "error", ename: "Error", evalue: "no", traceback: []};
    const refused: [ReturnType<typeof ran>, RegExp][] = [
      [ran([1, null]), /cell 2 \("cell-2"\) was not run, and others were; publish with --run/],
      [ran([2, 1]), /cell 2 \("cell-2"\) was run as number 1, before the one above it \(2\)/],
      [ran([1], [[marked]]), /cell 1 \("cell-1"\) was changed after it was run; publish with --run/],
      [ran([1], [[failed]]), /cell 1 \("cell-1"\) failed, so there is no result/],
    ];
    for (const [notebook, message] of refused)
      assert.throws(() => storedOutputs(notebook, "n.ipynb"), message);
    const own = {...marked, metadata: sourceMark("0 + 1")} as Output;
    assert.doesNotThrow(() => storedOutputs(ran([1], [[own]]), "n.ipynb"));
  });
});
