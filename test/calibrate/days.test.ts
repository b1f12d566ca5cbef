import assert from "node:assert/strict";
import {describe, it} from "vitest";
import type {DayScenario} from "../../lib/simulate/scenario.ts";
import {DAY_CASES} from "./day-cases.ts";
import {daysLine, judgeDays, percent, standardErrorOf} from "./days.ts";

const DAYS = 5000;
const withPower = (scenario: DayScenario, power: number): DayScenario => ({
  ...scenario,
  part: {power, massKg: 0, dragAreaM2: 0},
});

describe.each(DAY_CASES)(
  "$name, logs written, loaded, sliced, checked and compared",
  ({name, scenario, firstSeed}) => {
    it(`shows a difference that is not there on at most 5.8 % of ${DAYS} days, and covers on 93.5 to 98 %`, async () => {
      const summary = await judgeDays(scenario, {days: DAYS, firstSeed});
      console.log(daysLine(name, summary, firstSeed));
      assert.ok(summary.shown <= 0.058, percent(summary.shown, DAYS));
      assert.ok(summary.covered >= 0.935 && summary.covered <= 0.98, percent(summary.covered, DAYS));
    });
  },
);

describe("2 % of power", () => {
  const days = 2000;
  // 0.8 % spread between runs and bands of 5.6 s: the numbers that a plan of this size is expected to reach
  it.each([
    {of: DAY_CASES[0], least: 0.58, widest: 0.215},
    {of: DAY_CASES[1], least: 0.55, widest: 0.22},
    {of: DAY_CASES[2], least: 0.8, widest: 0.215},
  ])("is shown often enough, by an interval that is narrow enough: $of.name", async ({of, least, widest}) => {
    const firstSeed = of.firstSeed + 500_000;
    const summary = await judgeDays(withPower(of.scenario, 0.02), {days, firstSeed});
    console.log(daysLine(`${of.name}, +2 % power`, summary, firstSeed));
    assert.ok(summary.shown >= least, percent(summary.shown, days));
    assert.ok(summary.median_width <= widest, `${summary.median_width} s`);
    // the share of 600 days that a stranger simulates lies within 92.5 and 98.5 % if the truth lies in here
    const error = standardErrorOf(summary.covered, days);
    assert.ok(
      summary.covered - error >= 0.935 - 0.01 && summary.covered + error <= 0.98,
      `${summary.covered}`,
    );
  });
});

describe("speed", () => {
  it("is 10,000 days in under 60 s on two cores", async () => {
    const days = 10_000;
    await judgeDays(DAY_CASES[0].scenario, {days: 200, firstSeed: 5_000_000}); // compiled and warm
    const {seconds} = await judgeDays(DAY_CASES[0].scenario, {days, firstSeed: 5_100_000});
    console.log(`10,000 days of two ABBA blocks take ${((10_000 / days) * seconds).toFixed(0)} s`);
    assert.ok((10_000 / days) * seconds < 60, `${(10_000 / days) * seconds} s`);
  });
});
