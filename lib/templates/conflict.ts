import {type Cell, hasTag, type Notebook} from "../notebook/notebook.ts";

/** Tag of a cell that shows the template's side of a conflict. */
export const CONFLICT_TAG = "conflict";
/** Ids of nbformat 4.5 have at most 64 characters. */
const ID_LENGTH = 64;

/**
 * The template's side of a conflict, to stand behind the analyst's: a text that shows the cell and does not run it.
 *
 * @param taken ids in use; the new one is added
 */
export function conflictCell(template: Cell, version: string, taken: Set<string>): Cell {
  const id = freeId(`${template.id.slice(0, ID_LENGTH - 24)}-in-${version.replace(/[^\w-]/g, "-")}`, taken);
  const fence = "`".repeat(Math.max(3, ...(template.source.match(/`+/g) ?? []).map(run => run.length + 1)));
  const language = template.cell_type === "code" ? "ts" : "markdown";
  return {
    id,
    cell_type: "markdown",
    metadata: {tags: [CONFLICT_TAG], fairpull: {conflict: {cell: template.id, version}}},
    source:
      `**To settle.** The cell above is yours. Version ${version} of the template has this in its place; take over what you need, ` +
      `then delete this cell.\n\n${fence}${language}\n${template.source}\n${fence}`,
  };
}

/** Cells that still show the other side of a conflict. */
export function openConflicts(notebook: Notebook): Cell[] {
  return notebook.cells.filter(cell => hasTag(cell, CONFLICT_TAG));
}

function freeId(wanted: string, taken: Set<string>): string {
  let id = wanted;
  for (let n = 2; taken.has(id); n++) id = `${wanted}-${n}`;
  taken.add(id);
  return id;
}
