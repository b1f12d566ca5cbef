import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {cellMeans} from "../../lib/channels/cell-means.ts";
import {channelCurves} from "../../lib/channels/curves.ts";
import {refreshedRows} from "../../lib/channels/refreshed.ts";
import type {Channel, Log} from "../../lib/result/log.ts";
import type {LoadedRun} from "../../lib/run/day.ts";
import {createRandom, type Random} from "../../lib/stats/random.ts";
import {assertClose} from "../assert-close.ts";
import {curveDay, FROM, TO} from "./made-days.ts";

describe("cellMeans", () => {
  it("is the mean of a straight line at the middle of each cell that is covered whole", () => {
    const x = [950, 1020, 1180, 1260, 1410, 1555];
    const found = cellMeans(
      x,
      x.map(value => 3 + 0.01 * value),
      {from: 0, step: 100, count: 100},
    )!;
    assert.equal(found.first, 10); // 950 to 1000 covers half of a cell only
    assert.equal(found.values.length, 5);
    for (const [k, value] of found.values.entries()) assertClose(value, 3 + 0.01 * (1050 + 100 * k), 1e-12);
  });

  it("integrates the line between points", () => {
    // By hand: 0 up to 1 over the first half, 1 after it: ¼ + ½.
    assertClose(cellMeans([0, 50, 100], [0, 1, 1], {from: 0, step: 100, count: 1})!.values[0], 0.75, 1e-12);
  });

  it("passes over points at which the axis falls back", () => {
    const found = cellMeans([0, 60, 40, 100], [0, 6, 99, 10], {from: 0, step: 50, count: 2})!;
    assertClose(found.values[0], 2.5, 1e-12);
    assert.equal(cellMeans([1, 1, 1], [1, 2, 3], {from: 0, step: 1, count: 5}), null);
    assert.equal(cellMeans([1, 1.5], [1, 2], {from: 0, step: 1, count: 5}), null);
  });
});

describe("refreshedRows", () => {
  it("keeps the rows at which a held channel changes", () => {
    const held = [1, 1, 1, 2, 2, 2, 3, 3, 3, 4, 4, 4, 5, 5, 5, 6, 6, 6];
    assert.deepEqual(refreshedRows(held, 0, held.length), [3, 6, 9, 12, 15]);
  });
  it("takes a value that stays for long as refreshed with the same value", () => {
    const held = [1, 1, 2, 2, 3, 3, 4, 4, 4, 4, 4, 4, 4, 4, 5, 5, 6, 6];
    assert.deepEqual(refreshedRows(held, 0, held.length), [2, 4, 6, 8, 10, 12, 14, 16]);
  });
  it("leaves channels that are read every row, or hardly change, as they are", () => {
    const every = [1, 2, 3, 3, 4, 5, 6, 7];
    assert.deepEqual(refreshedRows(every, 1, 7), [1, 2, 3, 4, 5, 6]);
    const steady = [100, 100, 100, 99, 100, 100, Number.NaN, 100];
    assert.deepEqual(refreshedRows(steady, 0, 8), [0, 1, 2, 3, 4, 5, 7]);
  });
});

/** A log with these channels at 10 Hz, and one pass over all of it. */
function loaded(run: number, channels: Record<string, ArrayLike<number>>): LoadedRun {
  const length = Object.values(channels)[0].length;
  const timeS = Float64Array.from({length}, (_, i) => i / 10);
  const list = Object.entries(channels).map(
    ([name, values]): Channel => ({
      name,
      column: name,
      unit: "deg",
      valueUnit: name === "engine-speed" ? "r/min" : "deg",
      kind: "number",
      values: Float64Array.from(values),
      valid: length,
    }),
  );
  const log = {file: `${run}.csv`, timeS, channels: list} as unknown as Log;
  const pass = {startS: 0, elapsedS: (length - 1) / 10} as LoadedRun["pass"];
  return {run: {run} as LoadedRun["run"], log, first: 0, end: length, pass, problem: null, clockS: null};
}

describe("channelCurves", () => {
  const rising = (from: number, count = 60) => Array.from({length: count}, (_, i) => from + 50 * i);
  const line = (from: number, count = 60) => rising(from, count).map(rpm => rpm / 100);

  it("lays runs on the cells they have in common, and leaves out what it cannot lay", () => {
    const runs = [
      loaded(1, {"engine-speed": rising(2010), "spark-advance": line(2010)}),
      loaded(2, {"engine-speed": rising(2130), "spark-advance": line(2130)}),
      loaded(3, {"engine-speed": rising(2010)}),
      loaded(4, {"engine-speed": rising(2010, 20), "spark-advance": line(2010, 20)}),
    ];
    const found = channelCurves(runs, {channel: "spark-advance", axis: "engine-speed"})!;
    assert.deepEqual(
      found.runs.map(({run}) => run),
      [1, 2],
    );
    assert.equal(found.at[0], 2250);
    for (const {values} of found.runs)
      for (const [k, value] of values.entries()) assertClose(value, found.at[k] / 100, 1e-9);
    assert.deepEqual(
      found.leftOut.map(({run, reason}) => `${run}: ${reason}`),
      ["3: no spark-advance was logged", "4: it covers 8 cells, much fewer than the others"],
    );
    assert.equal(channelCurves(runs.slice(2, 3), {channel: "spark-advance", axis: "engine-speed"}), null);
  });

  it("sees through samples that are held", () => {
    const held = line(2000).map((_, i, all) => all[i - (i % 5)]);
    const found = channelCurves(
      [1, 2].map(run => loaded(run, {"engine-speed": rising(2000), "spark-advance": held})),
      {channel: "spark-advance", axis: "engine-speed"},
    )!;
    for (const {values} of found.runs)
      for (const [k, value] of values.entries()) assertClose(value, found.at[k] / 100, 1e-9);
  });
});

describe("differenceOfCurves", () => {
  const day = (random: Random, perArm: number, planted: number) => curveDay(random, {perArm, planted});

  // 0.8° with 10 + 10 runs needs a second a day, and is counted by npm run calibrate
  it("finds a planted 1.2° with 6 + 6 runs, and where it is", () => {
    const random = createRandom(5, "planted");
    const days = 200;
    let found = 0;
    const off: number[] = [];
    for (let i = 0; i < days; i++) {
      const {ranges} = day(random, 6, 1.2);
      const hit = ranges.find(range => range.from < TO && range.to > FROM && range.mean > 0);
      if (!hit) continue;
      found++;
      off.push(Math.abs(hit.from - FROM), Math.abs(hit.to - TO));
    }
    off.sort((a, b) => a - b);
    // asked for: ≥ 80 % and a median of at most 300 r/min; three binomial standard errors of 200 days are 8.5 %
    assert.ok(found >= 0.8 * days, `${found} of ${days} found`);
    assert.ok(off[off.length >> 1] <= 300, `median error ${off[off.length >> 1]} r/min`);
  });

  it("rarely finds what is not there, and says nothing on one run an arm", () => {
    const random = createRandom(6, "none");
    let alarms = 0;
    for (let i = 0; i < 200; i++) if (day(random, 6, 0).ranges.length > 0) alarms++;
    assert.ok(alarms <= 20, `${alarms} alarms in 200 days at 5 %`); // 10 expected, three standard errors are 9
    const one = day(random, 1, 1);
    assert.equal(one.band, null);
    assert.match(one.tooFew!, /1 baseline and 1 changed runs .* nothing can be said/);
  });

  it("draws instead of dealing where the plan has fewer than 100 re-deals", () => {
    const random = createRandom(7, "few");
    const found = day(random, 4, 1.2);
    assert.match(found.band!.method, /normal draws/);
    assert.match(day(random, 5, 0).band!.method, /252 re-deals/);
  });
});
