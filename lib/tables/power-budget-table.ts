import {type Table, table} from "../figures/table.ts";
import type {PowerBudget} from "../result/power-curves.ts";

/**
 * What makes the mean wheel power uncertain, for its level and for the difference between the arms apart; the last row is all of it.
 *
 * @param budget as `powerBudget` gives it; null gives null
 */
export function powerBudgetTable(budget: PowerBudget | null): Table | null {
  if (budget === null) return null;
  const watts = (value: number) => value.toFixed(0);
  return table({
    id: "power-budget",
    caption: `What makes the mean wheel power uncertain (standard uncertainties): its level of ${(budget.meanW / 1000).toFixed(1)} kW, and the difference between the arms, in which what both share nearly cancels. The scatter of the runs is in neither.`,
    columns: [
      {title: "input"},
      {title: "level", unit: "W", align: "right"},
      {title: "difference", unit: "W", align: "right"},
      {title: "taken as"},
    ],
    rows: [
      ...budget.rows.map(({input, value, levelUW, differenceUW}) => [
        input,
        watts(levelUW),
        watts(differenceUW),
        value,
      ]),
      ["all together", watts(budget.levelUW), watts(budget.differenceUW), ""],
    ],
  });
}
