import assert from "node:assert/strict";
import {readFileSync} from "node:fs";
import {describe, it} from "vitest";
import {coverageRow} from "../../lib/simulate/coverage.ts";
import {coverageCases, NOT_PROMISED, planWords} from "../../lib/simulate/coverage-cases.ts";
import {type CoverageTable, coverageByPlan, coverageTableText} from "../../lib/simulate/coverage-table.ts";
import {withTable} from "../calibrate/coverage-markdown.ts";

const ROOT = new URL("../../", import.meta.url);
const text = readFileSync(new URL("data-demo/coverage-table.json", ROOT), "utf8");
const table = JSON.parse(text) as CoverageTable;

describe("the table of coverage that is kept", () => {
  it("has a row of 10,000 days for every case", () => {
    const found = table.rows.map(({order, runs, spread, noise}) => ({order, runs, spread, noise}));
    assert.deepEqual(found, coverageCases());
    assert.ok(table.rows.every(row => row.days >= 10_000));
  });
  it("says that the default covers at least 93.5 % wherever that is promised", () => {
    for (const {methods, noise, too_few, ...from} of table.rows) {
      if (too_few !== null) {
        assert.equal(planWords(from), "1 ABBA block"); // 2 + 2 runs: the only plan of the table without an interval
        continue;
      }
      const {covered, false_alarms} = methods.t!;
      if (!NOT_PROMISED.includes(noise)) {
        assert.ok(covered >= 0.935, `${planWords(from)}, ${noise}: ${covered}`);
        assert.ok(false_alarms <= 0.058, `${planWords(from)}, ${noise}: ${false_alarms}`);
      }
    }
  });
  it("comes from this code: a row made again is the same", () => {
    const {seed, level} = table;
    const row = table.rows.find(({order, runs}) => order === "abba" && runs === 8)!;
    const {order, runs, spread, noise, days} = row;
    const again = coverageRow({order, runs, spread, noise}, {days, seed, level});
    assert.deepEqual(JSON.parse(coverageTableText({...table, rows: [again]})).rows, [row]);
  });
  it("is what DEVELOPERS.md shows", () => {
    const page = readFileSync(new URL("DEVELOPERS.md", ROOT), "utf8");
    assert.equal(withTable(page, table.rows), page);
  });
});

describe("coverageByPlan", () => {
  it("takes the worst of what is promised, and widths over that of t", () => {
    const method = (covered: number, width: number) => ({
      days: 100,
      covered,
      false_alarms: 0.05,
      median_width: width,
    });
    const none = {randomisation: null, percentile: null, bca: null};
    const plan = {order: "abba", runs: 8, days: 100, too_few: null} as const;
    const [found] = coverageByPlan([
      {
        ...plan,
        spread: 0.02,
        noise: "normal",
        methods: {...none, t: method(0.95, 4), studentised: method(0.94, 8)},
      },
      {
        ...plan,
        spread: 0.008,
        noise: "normal",
        methods: {...none, t: method(0.96, 2), studentised: method(0.95, 2)},
      },
      {...plan, spread: 0.008, noise: "carry-over", methods: {...none, t: method(0.5, 2), studentised: null}},
    ]);
    assert.deepEqual(found.methods.t, {worst: 0.95, days: 100, width: 1});
    assert.deepEqual(found.methods.studentised, {worst: 0.94, days: 100, width: 1.5}); // by hand: (8/4 + 2/2)/2
    assert.deepEqual([found.methods.bca, found.median_width], [null, 2]);
  });
});
