import type {BudgetLine} from "./budget.ts";
import {type Uncertain, withBudget} from "./budget.ts";

/**
 * How much more the changed part has than the baseline part. Errors under one source (gain and offset of one range,
 * leads read once for both) are the same error in both, so that they act on the difference only.
 *
 * @throws {RangeError} level not between 0 and 1
 */
export function differenceOfParts(
  baseline: Uncertain,
  changed: Uncertain,
  {level}: {level?: number} = {},
): Uncertain {
  const lines: BudgetLine[] = [
    ...changed.budget,
    ...baseline.budget.map(line => ({...line, contribution: -line.contribution})),
  ];
  return withBudget(changed.value - baseline.value, lines, {level});
}
