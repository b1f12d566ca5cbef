import assert from "node:assert/strict";
import {it} from "vitest";
import {CASE_POWER} from "../../lib/simulate/coverage-cases.ts";
import {DAY_CASES} from "./day-cases.ts";
import {daysLine, judgeDays, percent, standardErrorOf} from "./days.ts";

/** Whole days, logs and all, where looks.test.ts has days of numbers. */
const {scenario: NULL_DAY} = DAY_CASES[0];

it.each([2, 3])("%i looks show what is not there on about 5 % of 2000 null days", async looks => {
  const days = 2000;
  const firstSeed = 6_000_000 + 100_000 * looks;
  const scenario = {...NULL_DAY, plan: {order: "abba" as const, runs: 16}};
  const summary = await judgeDays(scenario, {days, firstSeed, looks});
  console.log(daysLine(`four ABBA blocks, ${looks} looks`, summary, firstSeed));
  // 5.8 % are promised over 5,000 days; these are fewer, so one binomial error more
  assert.ok(summary.shown <= 0.058 + standardErrorOf(0.05, days), percent(summary.shown, days));
});

it("a worthwhile difference is called none on at most 5.8 % of 3000 days", async () => {
  const days = 3000;
  const firstSeed = 7_000_000;
  const scenario = {
    ...NULL_DAY,
    plan: {order: "abba" as const, runs: 12},
    part: {power: CASE_POWER, massKg: 0, dragAreaM2: 0},
  };
  const {truth} = (await judgeDays(scenario, {days: 1, firstSeed})).each[0];
  const summary = await judgeDays({...scenario, worthwhileS: Math.abs(truth)}, {days, firstSeed});
  const {no_worthwhile_difference: none} = summary;
  console.log(`three ABBA blocks, truth = worthwhile: no worthwhile difference ${percent(none, days)}`);
  assert.ok(none <= 0.058, percent(none, days));
});
