import assert from "node:assert/strict";
import * as dfd from "danfojs-node";
import {describe, it} from "vitest";
import {DISPLAY, type Displayed} from "../../lib/figures/display.ts";
import type {JudgeDocument} from "../../lib/result/documents.ts";
import {frameTable} from "../../lib/tables/frame-table.ts";
import {runTable} from "../../lib/tables/run-table.ts";

const RUN = {file: "a.csv", fitting: 1, used: true, flags: ["gap", "poor-fix"]};
const RESULT = {
  unit: "s",
  runs: [
    {...RUN, run: 1, arm: "baseline", value: 5.25, value_u: 0.02},
    {...RUN, run: 2, arm: "changed", value: 5, value_u: 0.02},
    {...RUN, run: 3, arm: "changed", value: null, value_u: null},
  ],
} as unknown as JudgeDocument;

describe("runTable", () => {
  const frame = runTable(RESULT, dfd.DataFrame);

  it("is a data frame of the runs that have a value", () => {
    assert.deepEqual(frame.shape, [2, 8]);
    assert.equal(frame["value"].mean(), 5.125); // (5.25 + 5) / 2
  });

  it("shows as a table with units, as HTML and as text", () => {
    const {"text/html": html, "text/plain": text} = (frame as unknown as Displayed)[DISPLAY]();
    assert.match(String(html), /<caption>The runs that have a value.*>value \[s\]<.*>uncertainty \[s\]</);
    assert.match(String(text), /run .*value \[s\]/);
    assert.match(String(text), /gap poor-fix/);
  });
});

describe("frameTable", () => {
  it("puts units into the headers of the columns they are given for", () => {
    const {columns} = frameTable(
      {columns: ["arm", "time"], values: [["a", 1]]},
      {id: "f", caption: "c", units: {time: "s"}},
    );
    assert.deepEqual(columns, [
      {title: "arm", align: "left"},
      {title: "time", align: "right", unit: "s"},
    ]);
  });
});
