import {InputError} from "../result/error.ts";

/** A figure or table of the page. */
export interface Numbered {
  kind: "Figure" | "Table";
  number: number;
  /** id of its element */
  anchor: string;
}

/** Numbers of the figures and tables of one page, in the order in which they appear. */
export interface References {
  /** Gives the next number of its kind. `id` null, or none that a text could name = nothing refers to it. */
  add(kind: Numbered["kind"], id: string | null): Numbered;
  /** @throws {InputError} exit code 2: there is no figure or table with that id */
  find(id: string): Numbered;
}

/** @param file name of the notebook, for messages */
export function createReferences(file: string): References {
  const byId = new Map<string, Numbered>();
  const counts = {Figure: 0, Table: 0};
  return {
    add(kind, given) {
      const id = given !== null && /^[\w-]+$/.test(given) ? given : null; // it becomes an anchor
      const number = ++counts[kind];
      const entry = {kind, number, anchor: `${kind.toLowerCase()}-${id ?? `n${number}`}`};
      if (id === null) return entry;
      if (byId.has(id)) {
        throw new InputError(2, {
          code: "id-twice",
          file,
          words: `two figures or tables have the id "${id}"`,
          hint: "give one of them another id",
        });
      }
      byId.set(id, entry);
      return entry;
    },
    find(id) {
      const entry = byId.get(id);
      if (entry) return entry;
      const known = [...byId.keys()].join(", ") || "none";
      throw new InputError(2, {
        code: "ref-unknown",
        file,
        words: `the text refers to {ref:${id}}, but no figure or table has that id`,
        hint: `the ids are: ${known}`,
      });
    },
  };
}
