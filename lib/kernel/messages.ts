import type {MimeBundle} from "../notebook/notebook.ts";
import type {CompiledCell} from "./compile.ts";
import type {CellError} from "./error.ts";

/** What the process that runs cells is told. */
export type ToRunner =
  | {type: "preload"; cell: number; packages: string[]}
  | ({type: "run"; cell: number} & Omit<CompiledCell, "declarations">)
  | {type: "finish"}
  /** sent after the running code was terminated: the cell, where it still runs, ends with this error */
  | {type: "stop"; cell: number; error: CellError};

/** What it answers. `cell` is the execution count of the cell that caused it. */
export type FromRunner =
  | {type: "stream"; cell: number; name: "stdout" | "stderr"; text: string}
  /** `id` names a display that later ones may replace; `update` = this one replaces all shown under the id */
  | ({type: "display"; cell: number; data: MimeBundle} & DisplayPlace)
  /** takes away what the cell has shown, at once or when the next output comes */
  | {type: "clear"; cell: number; wait: boolean}
  | {type: "input"; cell: number; file: string; sha256: string}
  /** the cell begins to run */
  | {type: "started"; cell: number}
  /** the cell ended; `value` is that of its last expression, `marks` the number of streams on which its end is marked */
  | {type: "done"; cell: number; error: CellError | null; value: MimeBundle | null; marks?: number}
  /** a cell that had ended failed afterwards, in a timer or a promise nobody waited for */
  | {type: "late-error"; cell: number; error: CellError}
  /** a stop was dealt with */
  | {type: "stopped"}
  /** nothing is left to happen */
  | {type: "finished"};

/** Where a display goes: absent = a new one that nothing can replace. */
export interface DisplayPlace {
  id?: string;
  update?: boolean;
}
