/** Order of cells, by id, of the three notebooks; only cells that the result has. */
export interface Orders {
  base: readonly string[];
  template: readonly string[];
  mine: readonly string[];
}

/**
 * Order of the cells of a merge. The template's order, with the analyst's cells behind the cell they were written behind;
 * the analyst's order, with the template's new cells likewise, where the analyst moved cells or the template's order
 * would exchange two cells that are the analyst's own.
 *
 * @param own cells that the analyst added or changed
 */
export function mergedOrder(
  {base, template, mine}: Orders,
  own: ReadonlySet<string>,
): {order: string[]; whose: "template" | "analyst"} {
  const common = new Set(base.filter(id => mine.includes(id)));
  const isMoved = !isSameOrder(
    base.filter(id => common.has(id)),
    mine.filter(id => common.has(id)),
  );
  const byTemplate = insertBehind(template, mine);
  const ownIn = (order: readonly string[]) => order.filter(id => own.has(id));
  if (!isMoved && isSameOrder(ownIn(byTemplate), ownIn(mine))) return {order: byTemplate, whose: "template"};
  return {order: insertBehind(mine, template), whose: "analyst"};
}

/** `first` with the rest of `second`, each behind the cell that it stands behind there, at the top where there is none. */
function insertBehind(first: readonly string[], second: readonly string[]): string[] {
  const order = [...first];
  const placed = new Set(first);
  let previous: string | null = null;
  for (const id of second) {
    if (!placed.has(id)) {
      order.splice(previous === null ? 0 : order.indexOf(previous) + 1, 0, id);
      placed.add(id);
    }
    previous = id;
  }
  return order;
}

function isSameOrder(a: readonly string[], b: readonly string[]): boolean {
  return a.length === b.length && a.every((id, i) => id === b[i]);
}
