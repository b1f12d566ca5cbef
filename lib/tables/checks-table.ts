import {type Table, table} from "../figures/table.ts";
import type {CheckOutcome, CheckRecord, JudgeDocument} from "../result/documents.ts";
import {signed} from "./words.ts";

/** What matters most stands first. */
const ORDER: Record<CheckOutcome, number> = {failed: 0, doubtful: 1, "not-checkable": 2, held: 3};

const EXPLAINS =
  " “Explains” is how much of the difference between the arms a difference in the conditions would make by itself.";

/**
 * The checks of a test, one row each, worst first: what was found, and what has to be so with its limit and where that is from.
 * What a difference between the arms would explain of the effect stands in a column of its own, where the test measures one.
 */
export function checksTable(result: Pick<JudgeDocument, "checks"> & {unit?: string}): Table {
  const checks = [...result.checks].sort((a, b) => ORDER[a.outcome] - ORDER[b.outcome]);
  const unit = checks.find(check => check.explains)?.explains?.unit ?? result.unit;
  const explains = unit !== undefined; // a test that measures no difference has nothing to explain
  return table({
    id: "checks",
    caption:
      "Is it a fair test? What failed stands first; “not checkable” means that nothing was logged or noted to tell." +
      (explains ? EXPLAINS : ""),
    columns: [
      {title: "check"},
      {title: "outcome"},
      {title: "found"},
      ...(explains ? [{title: "explains", unit, align: "right" as const}] : []),
      {title: "rule"},
    ],
    rows: checks.map(check => [
      check.name,
      check.outcome.replace("-", " "),
      check.words,
      ...(explains ? [check.explains ? signed(check.explains.value, 3) : null] : []),
      ruleWords(check),
    ]),
  });
}

/** "rule (limit; source)". */
function ruleWords({rule, threshold, source}: CheckRecord): string | null {
  if (rule === undefined) return null;
  const limits = [threshold, source].filter(part => part !== undefined);
  return limits.length > 0 ? `${rule} (${limits.join("; ")})` : rule;
}
