import assert from "node:assert/strict";
import {it} from "vitest";
import {simulateDay} from "../../lib/simulate/day.ts";
import {dayFiles} from "../../lib/simulate/files.ts";
import {scenarioNamed} from "../../lib/simulate/scenarios.ts";

it("a day of 12 runs with all its text takes at most 12 ms", () => {
  // 10,000 days in 60 s on two cores, which the calibration of a method needs.
  const scenario = scenarioNamed("intake-elbow")!;
  const day = (seed: number): number => {
    const start = performance.now();
    dayFiles(simulateDay(scenario, seed));
    return performance.now() - start;
  };
  for (let seed = 0; seed < 100; seed++) day(seed);
  const times = Array.from({length: 300}, (_, seed) => day(seed)).sort((a, b) => a - b);
  console.log(
    `a simulated day: median ${times[150].toFixed(2)} ms, slowest of 300 ${times[299].toFixed(2)} ms`,
  );
  assert.ok(times[150] <= 12, `${times[150]} ms`);
});
