import {DISPLAY} from "../figures/display.ts";
import type {JudgeDocument} from "../result/documents.ts";
import {type FrameLike, frameTable} from "./frame-table.ts";

const CAPTION = "The runs that have a value, in the order driven.";

/** One row of the run table. Values in the unit of the primary measure. */
export interface RunRow {
  run: number;
  file: string;
  arm: string;
  fitting: number;
  value: number;
  uncertainty: number;
  /** as words, which data frames can filter by */
  used: "yes" | "no";
  flags: string;
}

/** The runs that have a value, one plain object each, in the order driven. */
export function runRows(result: JudgeDocument): RunRow[] {
  return result.runs.flatMap(run =>
    run.value === null || run.value_u === null
      ? []
      : [
          {
            run: run.run,
            file: run.file,
            arm: run.arm,
            fitting: run.fitting,
            value: run.value,
            uncertainty: run.value_u,
            used: run.used ? "yes" : "no",
            flags: run.flags.join(" "),
          },
        ],
  );
}

/**
 * The runs as a data frame of the caller's library: `runTable(result, dfd.DataFrame)` for danfojs-node, whose types
 * it keeps. As the value of a cell it shows as a table with units. The library itself never loads a data-frame package.
 */
export function runTable<Frame>(result: JudgeDocument, DataFrame: new (rows: RunRow[]) => Frame): Frame {
  const frame = new DataFrame(runRows(result));
  const shown = () => {
    const units = {value: result.unit, uncertainty: result.unit};
    return frameTable(frame as FrameLike, {id: "runs", caption: CAPTION, units})[DISPLAY]();
  };
  // a property that loops over the frame and its copies do not see
  return Object.defineProperty(frame as object, DISPLAY, {value: shown}) as Frame;
}
