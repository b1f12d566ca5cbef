import assert from "node:assert/strict";
import {mkdtempSync, rmSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {afterAll, describe, it} from "vitest";
import {correctionWaterfall} from "../../lib/figures/correction-waterfall.ts";
import {judge} from "../../lib/judge/judge.ts";
import {loadDay} from "../../lib/run/day.ts";
import {readSession} from "../../lib/run/session.ts";
import {simulateDay} from "../../lib/simulate/day.ts";
import {scenarioNamed} from "../../lib/simulate/scenarios.ts";
import {writeDay} from "../../lib/simulate/write.ts";
import {correctionBudgetTable} from "../../lib/tables/correction-budget-table.ts";
import {correctionTable} from "../../lib/tables/correction-table.ts";
import {sensitivityTable} from "../../lib/tables/sensitivity-table.ts";
import {assertClose} from "../assert-close.ts";

const folder = mkdtempSync(join(tmpdir(), "fairpull-correction-"));
afterAll(() => rmSync(folder, {recursive: true, force: true}));

function judged(name: string) {
  const scenario = scenarioNamed(name)!;
  const day = simulateDay(scenario, scenario.seed);
  writeDay(day, join(folder, name));
  const session = readSession(join(folder, name, "session.yaml"));
  return {truth: day.truth, result: judge(session, loadDay(session))};
}

const hilly = judged("hilly-road");
/** Half a unit of the last digit of each number that is added up. */
const HALF_UNIT_S = 0.0005;
const numberOf = (text: string | number | null) => Number(String(text).replace("−", "-"));

describe("correctionTable", () => {
  const {result} = hilly;
  const {columns, rows, caption} = correctionTable(result)!;

  it("shows every run raw and corrected, and the difference last", () => {
    assert.deepEqual(
      columns.map(({title}) => title),
      ["run", "raw", "corrected", "grade", "wind", "air", "mass"],
    );
    assert.equal(rows.length, 13);
    assert.equal(rows[12][0], "changed − baseline");
    for (const [i, row] of rows.slice(0, 12).entries()) {
      assertClose(numberOf(row[1]), result.correction!.runs[i].raw_s, HALF_UNIT_S);
      assertClose(numberOf(row[2]), result.correction!.runs[i].corrected_s, HALF_UNIT_S);
    }
  });

  it("tells the shared uncertainty apart from that of single runs", () => {
    assert.match(caption, /0\.\d{3} s shared by both arms, 0\.\d{3} s from run to run/);
  });

  it("is left out where nothing was corrected", () => {
    assert.equal(correctionTable({}), null);
    assert.equal(correctionWaterfall({}), null);
    assert.equal(correctionBudgetTable({}), null);
    assert.equal(sensitivityTable({}), null);
  });
});

describe("correctionWaterfall", () => {
  it("leads from the raw difference to the corrected one without a gap", () => {
    const {difference} = hilly.result.correction!;
    const {data, alt} = correctionWaterfall(hilly.result)!;
    const {y, base} = data[0] as {y: number[]; base: number[]};
    const last = y.length - 1;
    assert.equal(y[0], difference.raw_s);
    // Each step starts where the one before ended; sums of six numbers below 1 round by less than 1e-12.
    for (let i = 1; i < last; i++) assertClose(base[i], base[i - 1] + y[i - 1], 1e-12);
    assertClose(base[last - 1] + y[last - 1], difference.corrected_s, 1e-12);
    const bar = data[1] as {x: string[]; error_y: {array: number[]}};
    assert.deepEqual([bar.x, bar.error_y.array], [["corrected"], [hilly.result.correction!.budget.u_s]]);
    assert.match(alt, /^Raw difference −0\.\d{3} s; grade .*; corrected difference −0\.\d{3} s\.$/);
  });
});

describe("correctionBudgetTable and sensitivityTable", () => {
  const {result} = hilly;
  it("show what is shared apart from what is new in each run, and all of it last", () => {
    const {rows, caption} = correctionBudgetTable(result)!;
    assert.deepEqual([...new Set(rows.slice(0, -1).map(row => row[1]))], ["shared", "run by run"]);
    // half a unit of the last digit of each of eight rows, in ms
    const all = Math.hypot(...rows.slice(0, -1).map(row => numberOf(row[2])));
    assertClose(numberOf(rows.at(-1)![2]), all, 0.15);
    assert.match(caption, /Shared by both arms: \d\.\d ms; new in each run: \d\.\d ms/);
  });
  it("say how large an error has to be to erase the difference", () => {
    const [grade, wind] = sensitivityTable(result)!.rows;
    assert.deepEqual([grade[0], grade[1]], ["grade", "0.1 % of grade"]);
    // By hand: steps are in proportion, so the difference over what one step does is what erases it.
    const steps = Math.abs(result.effect.estimate! / numberOf(wind[2]));
    assertClose(Number.parseFloat(String(wind[3])), steps, 0.2); // two digits of it are shown
    assert.match(String(grade[3]), /^\d\.\d+ % of grade$/);
  });
});

describe("the hilly road", () => {
  it("has a correction that finds the part and narrows the interval to less than half", () => {
    const {interval} = hilly.result.effect;
    const raw = hilly.result.correction!.raw.interval!;
    const truth = hilly.truth.effect.value;
    assert.ok(interval!.low <= truth && truth <= interval!.high, `${truth} in ${JSON.stringify(interval)}`);
    assert.ok(interval!.high - interval!.low < (raw.high - raw.low) / 2);
  });
});
