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

/**
 * The notebook with another value of a line `name: "…"` or `name: null` of its settings.
 *
 * @throws {RangeError} the settings have no such line
 */
export function withSetting(notebook: Notebook, name: string, value: string): Notebook {
  const line = new RegExp(`(\\b${name}:\\s*)(?:null|(["'])(?:(?!\\2)[^\\\\\\n])*\\2)`);
  const settings = notebook.cells.find(cell => hasTag(cell, "settings") && line.test(cell.source));
  if (!settings) throw new RangeError(`withSetting: the settings have no line "${name}: …"`);
  return {
    ...notebook,
    cells: notebook.cells.map(cell =>
      cell === settings
        ? {
            ...cell,
            source: cell.source.replace(line, (_, before: string) => before + JSON.stringify(value)),
          }
        : cell,
    ),
  };
}
