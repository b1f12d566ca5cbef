import {type Table, table} from "../figures/table.ts";
import type {JudgeDocument} from "../result/documents.ts";

/**
 * What makes the correction of the difference uncertain: what both arms share, then what is new in each run; the last row is all of it.
 *
 * @returns null where the result holds no correction
 */
export function correctionBudgetTable({correction}: Pick<JudgeDocument, "correction">): Table | null {
  if (!correction) return null;
  const {budget} = correction;
  const milliseconds = (seconds: number) => (1000 * seconds).toFixed(1);
  return table({
    id: "correction-budget",
    caption: `What makes the correction of the difference uncertain (standard uncertainties). Shared by both arms: ${milliseconds(budget.shared_u_s)} ms; new in each run: ${milliseconds(budget.run_by_run_u_s)} ms. The scatter of the times themselves is not in it.`,
    columns: [
      {title: "input"},
      {title: "kind"},
      {title: "difference", unit: "ms", align: "right"},
      {title: "taken as"},
    ],
    rows: [
      ...budget.rows.map(({input, kind, value, contribution_s}) => [
        input,
        kind,
        milliseconds(contribution_s),
        value,
      ]),
      ["all together", "", milliseconds(budget.u_s), ""],
    ],
  });
}
