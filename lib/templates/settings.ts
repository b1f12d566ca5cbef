import {hasTag, type Notebook} from "../notebook/notebook.ts";

/** The line of the settings that names the session. */
const SESSION = /(\bsession:\s*)(["'])((?:(?!\2)[^\\\n])*)\2/;

/** Path of the session that a notebook's settings name, or null where there is no such line. */
export function sessionSetting(notebook: Notebook): string | null {
  for (const cell of notebook.cells) {
    const found = hasTag(cell, "settings") ? SESSION.exec(cell.source) : null;
    if (found) return found[3];
  }
  return null;
}

/** The notebook with another path of its session in the settings. */
export function withSession(notebook: Notebook, path: string): Notebook {
  return {
    ...notebook,
    cells: notebook.cells.map(cell =>
      hasTag(cell, "settings")
        ? {
            ...cell,
            source: cell.source.replace(SESSION, (_, before: string) => before + JSON.stringify(path)),
          }
        : cell,
    ),
  };
}
