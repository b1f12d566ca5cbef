import assert from "node:assert/strict";
import {it} from "vitest";
import {countShown} from "../simulate/club-day.ts";

it("the demo's 12 runs show a worthwhile difference in at least 80 % of days", () => {
  const nDays = 2000;
  const shown = countShown({nDays, firstSeed: 100_000});
  console.log(`shown in ${shown} of ${nDays} days`);
  // The lower end of the count's 99 % interval is above 80 %.
  const share = shown / nDays;
  assert.ok(share - 2.33 * Math.sqrt((share * (1 - share)) / nDays) >= 0.8, `${share}`);
});
