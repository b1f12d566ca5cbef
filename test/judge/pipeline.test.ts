import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {scenarioNamed} from "../../lib/simulate/scenarios.ts";
import {calibrate, standardErrorOf} from "../calibrate/pipeline.ts";

/** The short form of test/calibrate/two-abba-blocks.test.ts: fewer days, bounds of four binomial standard errors. */
const DAYS = 200;

describe("the whole pipeline on simulated days", () => {
  it.each([
    ["abba2", 1],
    ["abba2-drift", 1_000],
  ])("neither shows what is not there nor misses the truth: %s", (name, firstSeed) => {
    const {shown, covered} = calibrate(scenarioNamed(name)!, DAYS, firstSeed);
    assert.ok(Math.abs(shown - 0.05) <= 4 * standardErrorOf(0.05, DAYS), `shown on ${shown} of days`);
    assert.ok(Math.abs(covered - 0.95) <= 4 * standardErrorOf(0.95, DAYS), `covered on ${covered} of days`);
  });
});
