import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {carryOver} from "../../lib/channels/carry-over.ts";
import {matchedCondition} from "../../lib/channels/conditions.ts";
import {commonChannels, runMeans} from "../../lib/channels/run-means.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {drawDeal} from "../../lib/trial/plan.ts";
import {assertClose} from "../assert-close.ts";
import {labelsOf, toPlan, toRuns} from "../trial/made-runs.ts";
import {loadedRun, MOVED, surveyDay} from "./made-days.ts";

describe("runMeans", () => {
  it("is the mean over time within the band, however often rows were written", () => {
    // By hand: 2 from 1.0 to 1.5 s, then straight up to 4 at 2.0 s: (2·0.5 + 3·0.5)/1 = 2.5
    const run = loadedRun({coolant: [9, 2, 2, 2, 2, 4, 9]}, [0, 1, 1.1, 1.2, 1.5, 2, 3]);
    assertClose(runMeans([run], "coolant").values[0]!, 2.5, 1e-12);
    assert.equal(runMeans([run], "coolant", {at: "start"}).values[0], 2);
    assert.equal(runMeans([run], "lambda").values[0], null);
    assert.equal(
      runMeans([loadedRun({coolant: [Number.NaN, Number.NaN]}, [1, 2])], "coolant").values[0],
      null,
    );
  });

  it("names the channels that all runs have", () => {
    const one = loadedRun({coolant: [1], latitude: [1], "oil box": [1]}, [1]);
    const other = loadedRun({"oil box": [1], coolant: [2], empty: [Number.NaN]}, [1]);
    assert.deepEqual(commonChannels([one, other]).names, ["coolant", "oil box"]);
    assert.deepEqual(commonChannels([]), {names: [], leftOut: []});
  });
});

describe("surveyChannels", () => {
  it("finds a channel moved by three spreads, and puts it first", () => {
    const random = createRandom(12, "moved");
    let found = 0;
    for (let i = 0; i < 24; i++) {
      const {channels, looked} = surveyDay(random, 3);
      assert.equal(looked, 20);
      if (channels.find(({name}) => name === MOVED)!.differs) found++;
    }
    assert.ok(found >= 14, `${found} of 24 days`); // asked for: three days in four, less two binomial standard errors
  });

  it("rarely calls any of 20 channels different where none is", () => {
    const random = createRandom(13, "null");
    let alarms = 0;
    for (let i = 0; i < 80; i++) if (surveyDay(random, 0).channels.some(({differs}) => differs)) alarms++;
    assert.ok(alarms <= 10, `${alarms} of 80 days`); // 5 % and three binomial standard errors
  });
});

describe("matchedCondition", () => {
  const plan = toPlan("complete");

  it("says that arms differ in a condition, and what that would explain", () => {
    const random = createRandom(14, "heat");
    let flagged = 0;
    let falsely = 0;
    for (let i = 0; i < 100; i++) {
      const labels = drawDeal("complete", 12, random);
      const heat = Array.from(labels, label => 300 + 3 * random.normal() + 8 * label);
      const runs = toRuns(
        labels,
        heat.map(kelvin => 6 + 0.02 * (kelvin - 300) + 0.01 * random.normal()),
      );
      const found = matchedCondition({name: "intake air", unit: "K", values: heat}, runs, {
        plan,
        level: 0.95,
      });
      if (found.matched === false) flagged++;
      assertClose(found.slope!, 0.02, 0.01, "slope"); // its standard error is about 0.001
      assertClose(found.explains!, found.slope! * found.difference!, 1e-12);
      const same = Array.from(labels, () => 300 + 3 * random.normal());
      if (
        matchedCondition({name: "x", unit: null, values: same}, runs, {plan, level: 0.95}).matched === false
      )
        falsely++;
    }
    assert.ok(flagged >= 80, `${flagged} of 100`);
    assert.ok(falsely <= 12, `${falsely} of 100 at 5 %`);
  });

  it("says nothing where a condition is missing, constant, or cannot be told from the part", () => {
    const labels = labelsOf("ABBABAAB");
    const runs = toRuns(labels, [5, 6, 6.1, 5.2, 6.2, 5.1, 5.3, 6.3]);
    const of = (values: (number | null)[]) =>
      matchedCondition({name: "x", unit: null, values}, runs, {plan, level: 0.95});
    assert.deepEqual(
      [of(labels.map(() => null)).matched, of(labels.map(() => null)).difference],
      [null, null],
    );
    assert.deepEqual([of(labels.map(() => 4)).matched, of(labels.map(() => 4)).slope], [null, null]);
    assert.equal(of(labels).slope, null);
  });
});

describe("carryOver", () => {
  const plan = toPlan("abba");
  const options = {plan, level: 0.95, effect: -0.2, print: (value: number) => `${value.toFixed(2)} s`};
  const labels = labelsOf("ABBAABBAABBAABBA");
  // AA and BB: the second of each is a later run of its fitting
  const firsts = labels.map((label, i) => (i === 0 || label !== labels[i - 1] ? 1 : 0));

  it("fails where the first run after a change is off by as much as the part", () => {
    const random = createRandom(15, "learning");
    const values = labels.map((label, i) => 6 - 0.2 * label + 0.4 * firsts[i] + 0.03 * random.normal());
    const found = carryOver(toRuns(labels, values), options);
    assert.equal(found.outcome, "failed");
    assertClose(found.estimate!, 0.4, 0.1);
    assert.match(found.words, /two runs that do not count after each change/);
  });

  it("rarely fails without it, and says how large it could be", () => {
    const random = createRandom(16, "none");
    let failed = 0;
    for (let i = 0; i < 200; i++) {
      const found = carryOver(
        toRuns(
          labels,
          labels.map(label => 6 - 0.2 * label + 0.1 * random.normal()),
        ),
        options,
      );
      if (found.outcome === "failed") failed++;
      else assert.match(found.words, /could be as much as \d\.\d\d s$/);
    }
    assert.ok(failed <= 6, `${failed} of 200`);
  });

  it("cannot tell from single runs", () => {
    const {outcome, words} = carryOver(toRuns(labelsOf("ABABABAB"), [5, 6, 5, 6.1, 5.2, 6, 5, 6.2]), options);
    assert.equal(outcome, "not-checkable");
    assert.match(words, /two runs a fitting would tell/);
  });
});
