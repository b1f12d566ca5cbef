import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {studentTQuantile} from "../../lib/stats/distributions.ts";
import {tTestPower} from "../../lib/stats/power.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {welchDifference} from "../../lib/stats/two-sample.ts";
import {welchPower} from "../../lib/stats/welch-power.ts";
import {assertClose} from "../assert-close.ts";

describe("welchPower", () => {
  it.each([
    [3, 2.5],
    [4, 2],
    [6, 1.5],
    [8, 1],
  ])("is what simulated samples of %i give at a difference of %f spreads", (n, effect) => {
    const random = createRandom(17, "test");
    const days = 4_000;
    let found = 0;
    for (let day = 0; day < days; day++) {
      const sample = (mean: number) => Array.from({length: n}, () => mean + random.normal());
      const {estimate, standardError, df} = welchDifference(sample(0), sample(effect));
      if (estimate > studentTQuantile(0.975, df!) * standardError!) found++;
    }
    const power = welchPower(effect, n);
    // four binomial standard errors, and the error of the average
    assertClose(found / days, power, 4 * Math.sqrt((power * (1 - power)) / days) + 0.001);
  });
  it("comes to the t test of equal spread as samples grow", () => {
    const n = 60;
    assertClose(
      welchPower(0.5, n),
      tTestPower(0.5, {df: 2 * n - 2, standardErrorFactor: Math.sqrt(2 / n)}),
      0.002,
    );
    // and lies below it where they are small, since the degrees of freedom are fewer
    assert.ok(welchPower(2, 4) < tTestPower(2, {df: 6, standardErrorFactor: Math.sqrt(0.5)}) - 0.03);
  });
  it("refuses what is no test", () => {
    assert.throws(() => welchPower(-1, 4), /at least 0/);
    assert.throws(() => welchPower(1, 1.5), /n/);
  });
});
