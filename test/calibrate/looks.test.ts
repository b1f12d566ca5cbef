import assert from "node:assert/strict";
import {describe, it} from "vitest";
import type {OrderName} from "../../lib/result/session.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {answer} from "../../lib/trial/answer.ts";
import {plannedLooks} from "../../lib/trial/looks.ts";
import {drawDeal} from "../../lib/trial/plan.ts";
import {toPlan, toRuns} from "../trial/made-runs.ts";

const DAYS = 5_000;
const MOST = 0.058;
const LEVEL = 0.95;

/** Planned sequences on days of numbers alone; the short form is test/trial/looks.test.ts. */
describe.each([
  ["abba", 16, 2],
  ["pairs", 16, 2],
  ["complete", 12, 2],
  ["abba", 24, 3],
  ["drift-balanced", 24, 3],
  ["pairs", 24, 3],
  ["abba", 20, 5],
  ["abba", 40, 5],
  ["complete", 20, 5],
] as [OrderName, number, number][])("planned looks at %s, %i runs in %i looks", (order, n, looks) => {
  const plan = toPlan(order, n, {looks});
  const at = plannedLooks(plan);

  /** Share of days on which some look says so. */
  function share(says: (answered: ReturnType<typeof answer>) => boolean, truth: number): number {
    const options = {plan, level: LEVEL, worthwhile: 1};
    const random = createRandom(2, `looks ${order} ${n} ${looks} ${truth}`);
    let days = 0;
    for (let day = 0; day < DAYS; day++) {
      const labels = drawDeal(order, n, random);
      const runs = toRuns(
        labels,
        Float64Array.from(labels, label => truth * label + random.normal()),
      );
      if (at.some(k => says(answer(runs.slice(0, k), options)))) days++;
    }
    return days / DAYS;
  }

  it(`show a difference that is not there on at most ${100 * MOST} % of ${DAYS} days`, () => {
    const shown = share(({state}) => state.startsWith("shown"), 0);
    console.log(`${order}, ${n} runs, looks after ${at.join(", ")}: shown ${(100 * shown).toFixed(2)} %`);
    assert.ok(shown <= MOST, `${100 * shown} %`);
  });

  it(`find no worthwhile difference on at most ${100 * MOST} % of days on which it is just worthwhile`, () => {
    const equivalent = share(({state}) => state === "no-worthwhile-difference", 1);
    assert.ok(equivalent <= MOST, `${100 * equivalent} %`);
  });
});
