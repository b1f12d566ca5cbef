import type {CollectedTable} from "../../result/workshop-documents.ts";
import {trueEffect} from "../day.ts";
import {judgeSimulatedDay} from "../judged-days.ts";
import {tableScenario} from "./table-day.ts";

/**
 * An evening rehearsed in memory: every table's day driven, written, read and judged, as `simulate workshop`, `judge` and `simulate
 * collect` would; a test holds the intervals to those of the files. Letters are left out, since they only turn a sign.
 *
 * @param evening.tables default 8
 */
export function rehearseEvening({seed, tables = 8}: {seed: number; tables?: number}): CollectedTable[] {
  return Array.from({length: tables}, (_, i): CollectedTable => {
    const table = i + 1;
    const {scenario, seed: own} = tableScenario({seed, table});
    const truth = trueEffect(scenario).effect.value;
    const {state, interval} = judgeSimulatedDay(scenario, own);
    return {
      table,
      question: scenario.question,
      truth,
      unit: "s",
      verdict: {
        file: "",
        blind: false,
        state,
        shown: state.startsWith("shown"),
        estimate: interval && (interval.low + interval.high) / 2,
        interval,
        covered: interval && interval.low <= truth && truth <= interval.high,
        excluded: 0,
        departures: null,
      },
    };
  });
}
