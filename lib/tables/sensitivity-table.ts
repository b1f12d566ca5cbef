import {type Table, table} from "../figures/table.ts";
import type {JudgeDocument} from "../result/documents.ts";
import type {PowerBudget} from "../result/power-curves.ts";
import {signed} from "./words.ts";

/** Inputs whose step reads better in another unit: factor and unit. */
const SHOWN: Record<string, [factor: number, unit: string]> = {"1": [100, "% of grade"]};

/** One input: a step of it in the changed arm alone, what that does, and what would erase the difference. */
interface SensitivityRow {
  input: string;
  step: number;
  unit: string;
  effect: number;
  toErase: number | null;
}

/**
 * How large an error in the runs of the changed arm alone would have to be to make or to erase the corrected difference: grade, wind,
 * mass, tyre radius. An error that both arms share does neither.
 *
 * @returns null where the result holds no correction
 */
export function sensitivityTable({correction}: Pick<JudgeDocument, "correction">): Table | null {
  if (!correction) return null;
  const rows = correction.sensitivity.map(({effect_s, to_erase, ...row}) => ({
    ...row,
    effect: effect_s,
    toErase: to_erase,
  }));
  return tableOf(rows, {
    id: "sensitivity",
    difference: `${signed(correction.difference.corrected_s, 3)} s`,
    unit: "s",
    digits: 3,
  });
}

/**
 * The same for the difference of mean wheel power.
 *
 * @param budget as `powerBudget` gives it; null gives null
 */
export function powerSensitivityTable(budget: PowerBudget | null): Table | null {
  if (budget === null) return null;
  const rows = budget.sensitivity.map(({effectW, ...row}) => ({...row, effect: effectW}));
  const difference = `${signed(budget.differenceW, 0)} W`;
  return tableOf(rows, {id: "power-sensitivity", difference, unit: "W", digits: 0});
}

function tableOf(
  rows: readonly SensitivityRow[],
  {id, difference, unit, digits}: {id: string; difference: string; unit: string; digits: number},
): Table {
  const amount = (value: number, of: string) => {
    const [factor, words] = SHOWN[of] ?? [1, of];
    return `${Number((factor * value).toPrecision(2))} ${words}`;
  };
  return table({
    id,
    caption: `What an error in the runs of the changed arm alone would do to the difference of ${difference}, and how large it has to be to erase it, or to fake it where there is none. An error that both arms share does neither. The tyres matter where speed is that of the wheels.`,
    columns: [
      {title: "input"},
      {title: "error"},
      {title: "effect", unit, align: "right"},
      {title: "erases at"},
    ],
    rows: rows.map(({input, step, unit: of, effect, toErase}) => [
      input.split(",")[0],
      amount(step, of),
      signed(effect, digits),
      toErase === null ? null : amount(toErase, of),
    ]),
  });
}
