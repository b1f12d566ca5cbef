import {isDeepStrictEqual} from "node:util";
import type {Cell, Notebook} from "../notebook/notebook.ts";
import {stripped} from "../notebook/write.ts";
import {conflictCell} from "./conflict.ts";
import {mergedOrder} from "./order.ts";
import {mergedRecord} from "./record.ts";

/** The three notebooks of a merge. */
export interface Sides {
  /** the template as it was when the analyst's notebook was made */
  base: Notebook;
  /** the template now */
  template: Notebook;
  /** the analyst's notebook */
  mine: Notebook;
}

/** What a merge did, cells by id, each list in the order of the result. */
export interface MergeReport {
  /** cells the analyst left alone, now as in the template */
  updated: string[];
  /** new in the template */
  added: string[];
  /** gone from the template, left alone by the analyst */
  removed: string[];
  /** changed on both sides: the analyst's stands, the template's follows as a marked cell */
  conflicts: string[];
  /** gone from the template, but kept because the analyst changed them */
  kept: string[];
  /** changed in the template, but not brought back because the analyst took them out */
  leftOut: string[];
  /** whose order of cells the result has */
  order: "template" | "analyst";
}

/**
 * Merges three ways by cell id: what the analyst left alone becomes the template's, what the analyst wrote stays, in the
 * analyst's order. No cell of the analyst is lost; where both sides changed one, both stand, the template's marked.
 *
 * @param options version of the template now, for the marks
 */
export function mergeNotebooks(
  sides: Sides,
  {version}: {version: string},
): {notebook: Notebook; report: MergeReport} {
  const {base, template, mine} = sides;
  const was = byId(stripped(base).cells);
  const now = byId(stripped(template).cells);
  const has = byId(mine.cells);
  const report: MergeReport = {
    updated: [],
    added: [],
    removed: [],
    conflicts: [],
    kept: [],
    leftOut: [],
    order: "template",
  };
  const cells = new Map<string, Cell>();
  /** cells whose order is the analyst's own */
  const own = new Set<string>();
  for (const cell of mine.cells) {
    const {id} = cell;
    const [before, after] = [was.get(id), now.get(id)];
    const isEdited = before === undefined || !isSameText(before, cell);
    if (isEdited) own.add(id);
    if (after === undefined) {
      if (before !== undefined && !isEdited) {
        report.removed.push(id);
        continue;
      }
      if (before !== undefined) report.kept.push(id);
      cells.set(id, cell);
      continue;
    }
    const metadata = mergedRecord({
      base: before?.metadata ?? {},
      template: after.metadata,
      mine: cell.metadata,
    });
    if (isSameText(cell, after)) cells.set(id, {...cell, metadata});
    else if (!isEdited) {
      cells.set(id, {...after, metadata});
      report.updated.push(id);
    } else {
      cells.set(id, {...cell, metadata});
      if (before === undefined || !isSameText(before, after)) report.conflicts.push(id);
    }
  }
  for (const [id, cell] of now) {
    if (has.has(id)) continue;
    const before = was.get(id);
    if (before === undefined) {
      cells.set(id, cell);
      report.added.push(id);
    } else if (!isSameText(before, cell)) report.leftOut.push(id);
  }
  const ids = (notebook: Notebook) => notebook.cells.map(({id}) => id).filter(id => cells.has(id));
  const {order, whose} = mergedOrder({base: ids(base), template: ids(template), mine: ids(mine)}, own);
  report.order = whose;
  const taken = new Set(order);
  const result = order.flatMap(id => {
    const cell = cells.get(id)!;
    return report.conflicts.includes(id) ? [cell, conflictCell(now.get(id)!, version, taken)] : [cell];
  });
  return {
    notebook: {
      ...mine,
      cells: result,
      metadata: {
        ...mergedRecord({base: base.metadata, template: template.metadata, mine: mine.metadata}),
        ...("fairpull" in template.metadata && {fairpull: template.metadata["fairpull"]}),
      },
    },
    report,
  };
}

function byId(cells: readonly Cell[]): Map<string, Cell> {
  return new Map(cells.map(cell => [cell.id, cell]));
}

/** Same kind, same text, same pictures; what an editor notes beside a cell does not count. */
function isSameText(a: Cell, b: Cell): boolean {
  return (
    a.cell_type === b.cell_type &&
    a.source === b.source &&
    isDeepStrictEqual(a.attachments ?? {}, b.attachments ?? {})
  );
}
