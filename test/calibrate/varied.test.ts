import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {summariseDays} from "../../lib/simulate/judged-days.ts";
import {daysLine, judgeEach, percent} from "./days.ts";
import {variedScenario} from "./varied.ts";

/** Days of which each has another car, road, wind, driver, plan and logger. */
const DAYS = 4000;

describe("days that differ in everything", () => {
  it.each([
    {power: 0, firstSeed: 10_000_000},
    {power: 0.03, firstSeed: 11_000_000},
  ])("are covered as promised, part $power", async ({power, firstSeed}) => {
    const scenarios = Array.from({length: DAYS}, (_, i) => variedScenario(firstSeed + i, power));
    const summary = await judgeEach(scenarios, firstSeed);
    console.log(daysLine(`varied, part ${100 * power} %`, summary, firstSeed));
    console.log(`failed: ${JSON.stringify(summary.failed_checks)}`);
    console.log(`in doubt: ${JSON.stringify(summary.doubtful_checks)}`);
    const groups = {
      rate: (i: number) => `${scenarios[i].logger.rateHz} Hz`,
      plan: (i: number) => `${scenarios[i].plan.order} ${scenarios[i].plan.runs}`,
      directions: (i: number) => scenarios[i].directions,
    };
    for (const groupOf of Object.values(groups)) {
      for (const name of new Set(scenarios.map((_, i) => groupOf(i)))) {
        const own = summariseDays(summary.each.filter((_, i) => groupOf(i) === name));
        console.log(
          `  ${name}: ${own.days} days, shown ${percent(own.shown, own.days)}, covered ${percent(own.covered, own.days)}`,
        );
        // four binomial errors below the 93.5 % promised
        assert.ok(own.covered >= 0.935 - 4 * Math.sqrt((0.935 * 0.065) / own.days), name);
      }
    }
    assert.ok(summary.covered >= 0.935 && summary.covered <= 0.98, percent(summary.covered, DAYS));
    if (power === 0) assert.ok(summary.shown <= 0.058, percent(summary.shown, DAYS));
    assert.ok(summary.not_a_fair_test <= 0.02, percent(summary.not_a_fair_test, DAYS));
  });
});
