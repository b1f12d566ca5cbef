import {type Document, isMap, isNode, type LineCounter} from "yaml";

export interface Place {
  line: number;
  column: number;
}

/** Where a value of a YAML document stands, by its path of keys; the nearest parent that exists where the value does not. */
export function placeOf(document: Document, lines: LineCounter, path: readonly PropertyKey[]): Place {
  for (let depth = path.length; depth >= 0; depth--) {
    const node = document.getIn(path.slice(0, depth) as unknown[], true);
    if (isNode(node) && node.range) return toPlace(lines, node.range[0]);
  }
  return {line: 1, column: 1};
}

/** Where a key (not its value) stands. */
export function placeOfKey(
  document: Document,
  lines: LineCounter,
  parent: readonly PropertyKey[],
  key: string,
): Place {
  const node = parent.length ? document.getIn(parent as unknown[], true) : document.contents;
  if (isMap(node)) {
    const pair = node.items.find(item => String(item.key) === key);
    if (pair && isNode(pair.key) && pair.key.range) return toPlace(lines, pair.key.range[0]);
  }
  return placeOf(document, lines, parent);
}

function toPlace(lines: LineCounter, offset: number): Place {
  const {line, col} = lines.linePos(offset);
  return {line: Math.max(line, 1), column: Math.max(col, 1)};
}
