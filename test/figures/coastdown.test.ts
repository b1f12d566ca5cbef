import assert from "node:assert/strict";
import {fileURLToPath} from "node:url";
import {describe, it} from "vitest";
import {coastdownResiduals} from "../../lib/figures/coastdown-residuals.ts";
import {forceBudget} from "../../lib/figures/force-budget.ts";
import {judgeCoastdown} from "../../lib/judge/coastdown.ts";
import {readCoastdownSession} from "../../lib/run/coastdown-session.ts";
import {checksTable} from "../../lib/tables/checks-table.ts";
import {coastRunsTable, roadLoadTable, termCorrelation} from "../../lib/tables/coastdown-tables.ts";
import {assertClose} from "../assert-close.ts";

const session = readCoastdownSession(
  fileURLToPath(new URL("../../data-demo/coastdown/session.yaml", import.meta.url)),
);
const result = judgeCoastdown(session);
const three = judgeCoastdown({...session, terms: 3});
const numberOf = (text: unknown) => Number(String(text).replace("−", "-"));
type Trace = {
  name: string;
  x: number[];
  y: number[];
  yaxis?: string;
  stackgroup?: string;
  line?: {dash: string};
  marker?: {symbol: string};
};

describe("coastdownResiduals", () => {
  const {data, layout, alt} = coastdownResiduals(result)!;
  const traces = data as unknown as Trace[];

  it("draws every run in the panel of its direction, told apart without colour", () => {
    assert.equal(traces.length, 8);
    for (const panel of ["y", "y2"]) {
      const own = traces.filter(({yaxis}) => yaxis === panel);
      assert.equal(own.length, 4);
      assert.equal(new Set(own.map(({line, marker}) => `${line!.dash} ${marker!.symbol}`)).size, 4);
    }
    assert.deepEqual(
      (layout["annotations"] as {text: string}[]).map(({text}) => text),
      ["<b>driven out</b>", "<b>driven back</b>"],
    );
  });

  it("shows the residuals of the result, whose mean over a run is nearly zero", () => {
    for (const [i, trace] of traces.entries()) {
      const run = result.runs.find(one => `run ${one.run}` === trace.name)!;
      assert.deepEqual(trace.y, run.residuals!.residual_mps, String(i));
      // least squares with a free start speed: the residuals of a run add up to almost nothing
      assertClose(trace.y.reduce((sum, value) => sum + value, 0) / trace.y.length, 0, 0.003);
      assert.ok(Math.abs(trace.x[0] - 110) < 6 && Math.abs(trace.x[23] - 30) < 3);
    }
  });

  it("says how far the lines go, and of which run", () => {
    const sizes = result.runs.map(run => Math.max(...run.residuals!.residual_mps.map(Math.abs)));
    const most = Math.max(...sizes);
    assert.match(
      alt,
      new RegExp(`within ${most.toFixed(2)} m/s of zero, furthest in run ${sizes.indexOf(most) + 1};`),
    );
    assert.match(alt, /8 coastdowns, 4 driven out and 4 driven back/);
  });

  it("has one panel where no direction is noted, and is left out where nothing was fitted", () => {
    const runs = result.runs.map(run => ({...run, direction: null}));
    const one = coastdownResiduals({...result, runs})!;
    assert.equal(new Set((one.data as unknown as Trace[]).map(({yaxis}) => yaxis)).size, 1);
    assert.equal(coastdownResiduals({...result, runs: runs.map(run => ({...run, residuals: null}))}), null);
  });
});

describe("forceBudget", () => {
  it("stacks layers that add up to the force of the terms, in the session's unit", () => {
    const {data, layout, alt} = forceBudget(result);
    const [rolling, air, slope] = data as unknown as Trace[];
    const [f0, f2] = result.terms;
    for (const [i, kmh] of rolling.x.entries()) {
      // By hand: F0 + F2 v², rounded to a tenth of a newton twice, and the speed to 0.01 km/h
      assertClose(rolling.y[i] + air.y[i], f0.estimate + f2.estimate * (kmh / 3.6) ** 2, 0.15);
    }
    // By hand: m g sin α at the slope found
    assertClose(slope.y[0], 1280 * 9.80665 * Math.sin(Math.atan(result.grade!.out)), 0.051);
    assert.match(JSON.stringify(layout["xaxis"]), /speed \[km\/h\]/);
    const equal = 3.6 * Math.sqrt(f0.estimate / f2.estimate);
    assert.match(
      alt,
      new RegExp(`^Force against speed: at 30 km/h .*they are equal at ${equal.toFixed(0)} km/h\\.$`),
    );
  });
  it("counts a linear term as rolling", () => {
    const [rolling] = forceBudget(three).data as unknown as Trace[];
    const [f0, f1] = three.terms;
    assert.equal(f1.name, "F1");
    assertClose(rolling.y[32] - rolling.y[0], (f1.estimate * (110 - 30)) / 3.6, 0.11);
    assertClose(rolling.y[0], f0.estimate + (f1.estimate * 30) / 3.6, 0.051);
  });
  it("leaves the slope out where none was found", () => {
    const names = (forceBudget({...result, grade: null}).data as unknown as Trace[]).map(({name}) => name);
    assert.deepEqual(names, ["rolling", "air", "rolling and air, with interval"]);
  });
});

describe("the tables of a coastdown", () => {
  it("give the load in both forms with units and intervals", () => {
    const {rows, caption} = roadLoadTable(result);
    const row = (start: string) => rows.find(([name]) => String(name).startsWith(start))!;
    const [f0, f2] = result.terms;
    assertClose(numberOf(row("F0")[1]), f0.estimate, 0.05);
    assertClose(numberOf(row("CdA")[1]), result.drag_area_m2, 5e-4);
    assertClose(numberOf(row("Crr")[1]), result.rolling_coefficient, 5e-6);
    // By hand: the interval scales as the estimate does
    const [low] = String(row("CdA")[2]).split(" to ");
    assertClose(Number(low), (2 * f2.interval!.low) / result.air.density_kg_m3, 5e-4);
    assert.equal(row("F2")[0], "F2, times speed² [N/(m/s)²]");
    assert.deepEqual(row("force at 80")[0], "force at 80 km/h [N]");
    assert.match(caption, /Intervals of 95 % from the spread of the runs \(6 degrees of freedom\)/);
    const none = result.terms.map(term => ({...term, interval: null}));
    assert.match(roadLoadTable({...result, terms: none, df: 2}).caption, /no interval: 2 degrees of freedom/);
  });
  it("show the correlation matrix, and every run with what it gives", () => {
    const {rows, columns} = termCorrelation(three);
    assert.deepEqual(
      columns.map(({title}) => title),
      ["term", "F0", "F1", "F2"],
    );
    for (const i of [0, 1, 2]) {
      assert.equal(rows[i][i + 1], "1.00");
      assertClose(numberOf(rows[i][1]), three.correlation[3 * i], 0.005);
    }
    const runs = coastRunsTable(result);
    assert.equal(runs.rows.length, 8);
    assert.equal(runs.columns.at(-1)!.title, "left");
    const doubted = result.runs.map((run, i) =>
      i === 2 ? {...run, used: false, f0_n: null, problem: "a brake"} : run,
    );
    const {rows: told, columns: more} = coastRunsTable({...result, runs: doubted});
    assert.equal(more.at(-1)!.title, "why not, or doubt");
    assert.deepEqual([told[2][3], told[2][4], told[2].at(-1)], ["no", null, "a brake"]);
  });
  it("show checks without a column of what they explain of a difference", () => {
    const {columns, caption} = checksTable(result);
    assert.deepEqual(
      columns.map(({title}) => title),
      ["check", "outcome", "found", "rule"],
    );
    assert.doesNotMatch(caption, /Explains/);
  });
});
