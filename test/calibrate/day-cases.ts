import type {DayScenario} from "../../lib/simulate/scenario.ts";
import {scenarioNamed} from "../../lib/simulate/scenarios.ts";

const ABBA2 = scenarioNamed("abba2")!;
const BASE: DayScenario = {...ABBA2, part: {power: 0, massKg: 0, dragAreaM2: 0}};
/** Days of a part that does nothing, by plan and by what else goes on; each with seeds of its own. */
export const DAY_CASES: readonly {name: string; scenario: DayScenario; firstSeed: number}[] = [
  {name: "two ABBA blocks", scenario: BASE, firstSeed: 1_000_000},
  {
    name: "two ABBA blocks, 0.3 % less power a run",
    scenario: {...BASE, variation: {...BASE.variation, driftLoss: 0.003}},
    firstSeed: 2_000_000,
  },
  {name: "six pairs", scenario: {...BASE, plan: {order: "pairs", runs: 12}}, firstSeed: 3_000_000},
  {
    name: "5 + 5 unpaired, 8 % bad runs",
    scenario: {
      ...BASE,
      plan: {order: "complete", runs: 10},
      variation: {...BASE.variation, badShare: 0.08},
    },
    firstSeed: 4_000_000,
  },
];
