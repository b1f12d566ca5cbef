/** MIME type → content: text, base64 of bytes, or JSON for types that end in "json". */
export type MimeBundle = Record<string, unknown>;

/** One output of a code cell, as nbformat 4 stores it. */
export type Output =
  | {output_type: "stream"; name: "stdout" | "stderr"; text: string}
  | {output_type: "display_data"; data: MimeBundle; metadata: Record<string, unknown>}
  | {
      output_type: "execute_result";
      data: MimeBundle;
      metadata: Record<string, unknown>;
      execution_count: number | null;
    }
  | {output_type: "error"; ename: string; evalue: string; traceback: string[]};

/** One cell. `outputs` and `execution_count` are there for code cells alone. */
export interface Cell {
  id: string;
  cell_type: "code" | "markdown" | "raw";
  source: string;
  metadata: Record<string, unknown>;
  attachments?: Record<string, MimeBundle>;
  outputs?: Output[];
  execution_count?: number | null;
}

/** A notebook in memory: nbformat 4.5, texts joined to one string each. */
export interface Notebook {
  nbformat: 4;
  nbformat_minor: number;
  metadata: Record<string, unknown>;
  cells: Cell[];
}

/** True if the cell carries the tag. */
export function hasTag(cell: Cell, tag: string): boolean {
  const tags = cell.metadata["tags"];
  return Array.isArray(tags) && tags.includes(tag);
}

/** The code cells in order: the ones that run. */
export function codeCells(notebook: Notebook): Cell[] {
  return notebook.cells.filter(cell => cell.cell_type === "code");
}
