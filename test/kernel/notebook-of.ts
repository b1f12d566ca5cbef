import type {Notebook} from "../../lib/notebook/notebook.ts";

/** A notebook of code cells; a cell given as [source, tag] carries the tag. */
export function notebookOf(...cells: (string | [source: string, tag: string])[]): Notebook {
  return {
    nbformat: 4,
    nbformat_minor: 5,
    metadata: {kernelspec: {display_name: "TypeScript", language: "typescript", name: "tslab"}},
    cells: cells.map((cell, index) => ({
      id: `cell-${index + 1}`,
      cell_type: "code",
      source: typeof cell === "string" ? cell : cell[0],
      metadata: typeof cell === "string" ? {} : {tags: [cell[1]]},
      outputs: [],
      execution_count: null,
    })),
  };
}
