import assert from "node:assert/strict";
import {describe, it} from "vitest";
import type {DayScenario} from "../../lib/simulate/scenario.ts";
import {scenarioNamed} from "../../lib/simulate/scenarios.ts";
import {calibrate, standardErrorOf} from "./pipeline.ts";

const DAYS = 2_000;
const PART_POWER = 0.02;

const withPart = (scenario: DayScenario): DayScenario => ({
  ...scenario,
  part: {...scenario.part, power: PART_POWER},
});

describe.each([
  ["abba2", 100_000],
  ["abba2-drift", 200_000],
])("two ABBA blocks through the whole pipeline: %s", (name, firstSeed) => {
  const scenario = scenarioNamed(name)!;
  it(`shows a difference that is not there on 3.5 to 6.5 % of ${DAYS} days`, () => {
    const {shown, medianWidthS} = calibrate(scenario, DAYS, firstSeed);
    console.log(
      `${name}: shown ${(100 * shown).toFixed(2)} ± ${(100 * standardErrorOf(shown, DAYS)).toFixed(2)} %, median width ${medianWidthS.toFixed(3)} s`,
    );
    assert.ok(shown >= 0.035 && shown <= 0.065, `shown on ${100 * shown} % of days`);
  });
  it(`covers a true effect on 93.5 to 97 % of ${DAYS} days`, () => {
    const {covered, shown} = calibrate(withPart(scenario), DAYS, firstSeed + DAYS);
    console.log(
      `${name} with ${100 * PART_POWER} % power: covered ${(100 * covered).toFixed(2)} ± ${(100 * standardErrorOf(covered, DAYS)).toFixed(2)} %, shown ${(100 * shown).toFixed(1)} %`,
    );
    assert.ok(covered >= 0.935 && covered <= 0.97, `covered on ${100 * covered} % of days`);
  });
});
