import type {MimeBundle} from "../notebook/notebook.ts";
import type {CompiledCell} from "./compile.ts";
import type {CellError} from "./error.ts";

/** What the process that runs cells is told. */
export type ToRunner =
  | {type: "preload"; cell: number; packages: string[]}
  | ({type: "run"; cell: number} & Omit<CompiledCell, "declarations">)
  | {type: "finish"};

/** What it answers. `cell` is the execution count of the cell that caused it. */
export type FromRunner =
  | {type: "stream"; cell: number; name: "stdout" | "stderr"; text: string}
  | {type: "display"; cell: number; data: MimeBundle}
  | {type: "input"; cell: number; file: string; sha256: string}
  /** the cell ended; `value` is that of its last expression, `marks` the number of streams on which its end is marked */
  | {type: "done"; cell: number; error: CellError | null; value: MimeBundle | null; marks?: number}
  /** a cell that had ended failed afterwards, in a timer or a promise nobody waited for */
  | {type: "late-error"; cell: number; error: CellError}
  /** nothing is left to happen */
  | {type: "finished"};
