import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {effectFigure} from "../../lib/figures/effect.ts";
import {judge} from "../../lib/judge/judge.ts";
import type {JudgeDocument} from "../../lib/result/documents.ts";
import {readSession} from "../../lib/run/session.ts";
import {influenceTable} from "../../lib/tables/influence-table.ts";
import {intervalsTable} from "../../lib/tables/intervals-table.ts";
import {cardText} from "../../lib/tables/verdict-card.ts";
import {madeDay, madeRuns} from "../judge/made-day.ts";

const TIMES = [5.612, 5.503, 5.521, 5.634, 5.487, 5.665, 5.608, 5.441];
const EXCLUDED = 'exclude: "lifted at 95", excludedBefore: not known';

function judged(order: string, times: readonly number[], plan: string, excluded = -1): JudgeDocument {
  const runs = madeRuns(order, times, i => (i === excluded ? {keys: EXCLUDED} : {}));
  return judge(readSession(madeDay(runs, `plan: {${plan}}`)));
}

describe("verdictCard", () => {
  it("prints what the lot can reach, the other unit, and what is not said", () => {
    const text = cardText(judged("ABBABAAB", TIMES, "order: abba, runs: 8"));
    assert.match(
      text,
      /^By lot: p = 0\.5 over 4 re-deals .*; the smallest that they can reach is 0\.5, so this plan cannot reach p < 0\.05 by lot alone and the verdict rests on the model$/m,
    );
    assert.match(text, /^Beside it: .* on the means of fittings: counts each fitting once/m);
    assert.match(text, /^Not said: It does not say/m);
    const complete = cardText(judged("ABBABAAB", TIMES, "order: complete"));
    assert.match(complete, /over 70 re-deals .*; the smallest that they can reach is 0\.029$/m);
  });

  it("says in the verdict's own line that it hangs on an excluded run", () => {
    // Run 5 put back at 6.9 s drowns the difference.
    const times = [...TIMES, ...TIMES.map(time => time + 0.004)].map((time, i) => (i === 4 ? 6.9 : time));
    const result = judged("ABBABAABABBABAAB", times, "order: abba, runs: 16", 4);
    assert.equal(result.verdict.state, "shown-better");
    assert.deepEqual(result.robustness!.put_back!.runs, [5]);
    assert.match(
      cardText(result),
      /^Verdict: Shown better: .*with the excluded run 5 put back the verdict would be "not settled"\.$/m,
    );
  });

  it("names a look that was not planned in the verdict's own line and in the checks", () => {
    const result = judged("ABBABAAB", TIMES, "order: abba, runs: 4");
    assert.equal(result.look.kind, "grown");
    assert.match(result.verdict.words, /a look that was not planned/);
    assert.equal(result.checks.find(({name}) => name === "looks at the data")?.outcome, "doubtful");
    const planned = judged("ABBABAAB", TIMES, "order: abba, runs: 16, looks: 2");
    assert.deepEqual([planned.look.kind, planned.look.planned_at], ["planned", [8, 16]]);
    assert.match(planned.effect.interval!.method, /repeated: look 1 of 2, nominal p 0\.00305/);
  });
});

describe("intervalsTable", () => {
  it("has the main interval first and every other with its reason", () => {
    const result = judged("ABBABAAB", TIMES, "order: abba");
    const table = intervalsTable(result)!;
    assert.deepEqual(
      table.rows.map(row => row[0]),
      [
        "main",
        "studentised bootstrap",
        "by fitting",
        "by lot",
        "percentile bootstrap",
        "BCa bootstrap",
        "by ranks",
      ],
    );
    assert.deepEqual(table.rows[3].slice(1, 5), [null, null, null, null]);
    assert.match(String(table.rows[3][5]), /it has 4 re-deals, 40 are needed/);
    assert.equal(intervalsTable(judged("ABBA", TIMES, "order: abba")), null);
  });

  it("reaches the figure of the effect", () => {
    const labels = (result: JudgeDocument) =>
      effectFigure(result)!.data.map(trace => (trace as {name: string}).name);
    assert.deepEqual(labels(judged("ABBABAAB", TIMES, "order: complete")), [
      "effect",
      "bootstrap check",
      "by fitting",
      "by lot",
      "equivalence",
    ]);
  });
});

describe("influenceTable", () => {
  it("has a row a run, and one for the excluded runs put back", () => {
    const times = [...TIMES, ...TIMES.map(time => time + 0.004)];
    const result = judged("ABBABAABABBABAAB", times, "order: abba, runs: 16", 4);
    const table = influenceTable(result)!;
    assert.equal(table.rows.length, 16);
    assert.equal(table.rows[15][0], "nothing: run 5 put back");
    assert.equal(influenceTable(judged("ABBA", TIMES, "order: abba")), null);
  });
});
