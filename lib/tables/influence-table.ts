import {digitsOf} from "../figures/look.ts";
import {type Table, table} from "../figures/table.ts";
import type {JudgeDocument} from "../result/documents.ts";
import {signed} from "./words.ts";

/**
 * How much the answer hangs on single runs: the estimate and the state without each run, with the excluded runs put back, and which runs
 * stand out. Nothing is dropped by it.
 *
 * @returns null where the runs are too few for an interval
 */
export function influenceTable(result: JudgeDocument): Table | null {
  const {robustness, unit} = result;
  if (robustness === null || robustness.influence.length === 0) return null;
  const {influence, outliers, put_back: back, outlier_rule: rule} = robustness;
  const estimate = (value: number | null) => (value === null ? null : signed(value, digitsOf(unit)));
  const flag = (run: number) => {
    const found = outliers.find(outlier => outlier.run === run);
    return found ? `stands out (t = ${found.t.toFixed(1)}, p = ${Number(found.p.toPrecision(2))})` : "";
  };
  return table({
    id: "influence",
    caption: `The answer without each run, failed checks left out of account. A run is ${rule}.`,
    columns: [
      {title: "without"},
      {title: "difference", unit, align: "right"},
      {title: "verdict"},
      {title: "flag"},
    ],
    rows: [
      ...influence.map(({run, estimate: value, state}) => [
        `run ${run}`,
        estimate(value),
        words(state),
        flag(run),
      ]),
      ...(back
        ? [[`nothing: run ${back.runs.join(", ")} put back`, estimate(back.estimate), words(back.state), ""]]
        : []),
    ],
  });
}

function words(state: string): string {
  return state.replaceAll("-", " ");
}
