import {type Table, table} from "../figures/table.ts";
import type {JudgeDocument} from "../result/documents.ts";

/** The checks of a test, one row each. */
export function checksTable(result: JudgeDocument): Table {
  const order = {failed: 0, doubtful: 1, "not-checkable": 2, held: 3};
  const checks = [...result.checks].sort((a, b) => order[a.outcome] - order[b.outcome]);
  return table({
    id: "checks",
    caption:
      "Is it a fair test? What failed stands first; “not checkable” means that nothing was logged or noted to tell.",
    columns: [{title: "check"}, {title: "outcome"}, {title: "found"}],
    rows: checks.map(check => [check.name, check.outcome.replace("-", " "), check.words]),
  });
}
