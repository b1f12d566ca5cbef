import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {inThreads} from "../../lib/simulate/threads.ts";
import {summaryOf} from "../../lib/simulate/workshop/collect.ts";
import {requireBuild} from "../repo/built.ts";

const EVENINGS = 400;
const TABLES = 8;

describe(`${EVENINGS} evenings of ${TABLES} tables, rehearsed`, () => {
  it("keep the promise that the instructor makes: coverage 93 to 97 %, false “shown” at most 6.5 %", async () => {
    requireBuild();
    const evenings = Array.from({length: EVENINGS}, (_, i) => ({seed: 1 + i, tables: TABLES}));
    const all = await inThreads("evening", evenings);
    const total = summaryOf(all.flat());
    const missed = all.map(tables => {
      const {intervals, covered} = summaryOf(tables);
      return intervals - covered;
    });
    const share = (count: number, of: number) =>
      `${((100 * count) / of).toFixed(2)} ± ${(100 * Math.sqrt(((count / of) * (1 - count / of)) / of)).toFixed(2)} %`;
    console.log(
      [
        `coverage ${share(total.covered, total.intervals)} of ${total.intervals} intervals, ${total.verdicts} verdicts`,
        `shown where nothing is: ${share(total.null_shown, total.null_verdicts)} of ${total.null_verdicts}`,
        `shown on the right side where something is: ${share(total.other_shown, total.other_verdicts)} of ${total.other_verdicts}`,
        `evenings with 0, 1, 2, more misses: ${[0, 1, 2].map(n => missed.filter(m => m === n).length).join(", ")}, ${missed.filter(m => m > 2).length}`,
      ].join("\n"),
    );
    assert.ok(total.null_verdicts >= 1_000);
    assert.equal(total.verdicts, EVENINGS * TABLES);
    const coverage = total.covered / total.intervals;
    assert.ok(coverage >= 0.93 && coverage <= 0.97, `coverage ${coverage}`);
    assert.ok(total.null_shown / total.null_verdicts <= 0.065);
  });
});
