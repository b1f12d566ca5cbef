import {type Table, table} from "../figures/table.ts";
import type {JudgeDocument} from "../result/documents.ts";
import {signed} from "./words.ts";

/** Inputs whose step reads better in another unit: factor and unit. */
const SHOWN: Record<string, [factor: number, unit: string]> = {"1": [100, "% of grade"]};

/**
 * How large an error in the runs of the changed arm alone would have to be to make or to erase the corrected difference: grade, wind,
 * mass, tyre radius. An error that both arms share does neither.
 *
 * @returns null where the result holds no correction
 */
export function sensitivityTable({correction}: Pick<JudgeDocument, "correction">): Table | null {
  if (!correction) return null;
  const amount = (value: number, unit: string) => {
    const [factor, words] = SHOWN[unit] ?? [1, unit];
    return `${Number((factor * value).toPrecision(2))} ${words}`;
  };
  return table({
    id: "sensitivity",
    caption: `What an error in the runs of the changed arm alone would do to the difference of ${signed(correction.difference.corrected_s, 3)} s, and how large it has to be to erase it, or to fake it where there is none. An error that both arms share does neither.`,
    columns: [
      {title: "input"},
      {title: "an error of"},
      {title: "moves the difference by", unit: "s", align: "right"},
      {title: "to erase or fake it"},
    ],
    rows: correction.sensitivity.map(({input, step, unit, effect_s, to_erase}) => [
      input,
      amount(step, unit),
      signed(effect_s, 3),
      to_erase === null ? null : amount(to_erase, unit),
    ]),
  });
}
