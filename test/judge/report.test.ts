import assert from "node:assert/strict";
import path from "node:path";
import {fileURLToPath} from "node:url";
import {describe, it} from "vitest";
import {judge} from "../../lib/judge/judge.ts";
import {testReport} from "../../lib/judge/report.ts";
import type {Session} from "../../lib/result/session.ts";
import {readSession} from "../../lib/run/session.ts";

const demo = fileURLToPath(new URL("../../data-demo/intake-elbow", import.meta.url));
const session = readSession(path.join(demo, "session.yaml"));
const result = judge(session);
const outcome = (id: string, of: Session = session, document = result) => {
  const {items} = testReport(of, document);
  const item = items.find(entry => entry.id === id)!;
  return [item.outcome, item.words] as const;
};

describe("testReport", () => {
  it("tells each item of the demo day, and names a source for each", () => {
    const {items, planned, blind} = testReport(session, result);
    assert.equal(new Set(items.map(item => item.id)).size, items.length);
    for (const item of items) assert.ok(item.source.length > 4 && item.words.length > 4, item.id);
    assert.deepEqual(planned, {
      isPlanned: true,
      words: "planned: drift-balanced, drawn with seed 4711, not locked",
    });
    assert.match(blind, /^not blind/);
    assert.deepEqual(outcome("runs"), ["met", "6 and 6 runs"]);
    assert.deepEqual(outcome("departures"), ["met", "none is known"]);
    assert.equal(outcome("directions")[0], "not met"); // every run went out
    assert.equal(outcome("blinding")[0], "not stated");
  });

  it("computes wind, temperature and density from the session", () => {
    // By hand from session.yaml: strongest wind 1.5 m/s, air 18.4 to 19.7 °C.
    assert.match(outcome("wind")[1], /^strongest 1\.5 m\/s/);
    assert.match(outcome("temperature")[1], /^18\.4 to 19\.7 °C/);
    // 1009 hPa, 18.4 °C, 58 %: e = 0.58 · 2116 Pa = 1227 Pa; (100900 − 1227)/(287.05 · 291.55) + 1227/(461.5 · 291.55) = 1.2001 kg/m³;
    // against 100000/(287.05 · 293.2) = 1.1882: +1.0 %
    assert.equal(outcome("density")[1], "1.200 kg/m³, +1.0 %");
    const windy = {
      ...session,
      runs: session.runs.map((run, i) => ({
        ...run,
        conditions: {...run.conditions, windMps: i === 3 ? -4 : 1},
      })),
    };
    assert.equal(outcome("wind", windy)[0], "not met");
    const unknown = {...session, runs: session.runs.map(run => ({...run, direction: null}))};
    assert.equal(outcome("directions", unknown)[0], "not stated");
    assert.equal(outcome("density", {...session, air: {...session.air, pressurePa: null}})[0], "not stated");
  });

  it("takes the word planned off a test that left its plan", () => {
    const fewer = {...session, plan: {...session.plan!, runs: 16}};
    const {planned} = testReport(fewer, judge(fewer));
    assert.equal(planned.isPlanned, false);
    assert.equal(planned.words, "not as planned: 16 runs were planned, 12 were driven");
    assert.doesNotMatch(planned.words.replace("not as planned", ""), /^planned/);
    const late = {
      ...result,
      excluded: [
        {run: 3, file: "a", arm: "changed" as const, reason: "slow", excluded_before: "result known"},
      ],
    };
    assert.match(
      testReport(session, late).planned.words,
      /^not as planned: run 3 was dropped when the result was known/,
    );
    const none = {...session, plan: null};
    assert.equal(testReport(none, judge(none)).planned.words, "not planned, as far as the session tells");
    const undrawn = {...session, plan: {...session.plan!, seed: null}};
    assert.equal(testReport(undrawn, result).planned.isPlanned, false);
  });
});
