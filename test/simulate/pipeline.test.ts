import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {judgeSimulatedDay, summariseDays} from "../../lib/simulate/judged-days.ts";
import {DAY_CASES} from "../calibrate/day-cases.ts";

/** The short form of test/calibrate/days.test.ts: fewer days, bounds of four binomial standard errors. */
const DAYS = 60;

describe("the whole pipeline on simulated days", () => {
  it.each(DAY_CASES)(
    "neither shows what is not there nor misses the truth: $name",
    ({scenario, firstSeed}) => {
      const days = Array.from({length: DAYS}, (_, i) => judgeSimulatedDay(scenario, firstSeed + i));
      const {shown, covered, not_a_fair_test} = summariseDays(days);
      const bound = 4 * Math.sqrt((0.05 * 0.95) / DAYS);
      assert.ok(shown <= 0.05 + bound, `shown on ${shown} of days`);
      assert.ok(covered >= 0.95 - bound, `covered on ${covered} of days`);
      assert.ok(not_a_fair_test <= 0.02 + 4 * Math.sqrt((0.02 * 0.98) / DAYS), `${not_a_fair_test}`);
    },
  );
});
