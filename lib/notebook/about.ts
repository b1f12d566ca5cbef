import {InputError} from "../result/error.ts";
import type {Notebook} from "./notebook.ts";

/** What a notebook says of itself; null or empty where it does not say. */
export interface NotebookAbout {
  /** from the metadata, else the first heading of level 1, else null */
  title: string | null;
  authors: string[];
  /** as written, for example "2025-06-14" */
  date: string | null;
  licence: string | null;
  abstract: string | null;
  /** the car of the test in a few words */
  car: string | null;
  /** template the notebook was made from, its version, and the version range of the library it needs */
  template: {template: string; version: string; requires: string} | null;
}

/**
 * Reads title, authors, date, licence, abstract, car and template from a notebook's metadata.
 * Authors are names, or objects with a `name` (Jupyter's own form).
 *
 * @param file name of the notebook, for messages
 * @throws {InputError} exit code 2: one of them is there but is no text
 */
export function notebookAbout(notebook: Notebook, file: string): NotebookAbout {
  const {metadata} = notebook;
  const text = (from: Record<string, unknown>, key: string, owner = "metadata"): string | null => {
    const value = from[key];
    if (value === undefined || value === null || value === "") return null;
    if (typeof value === "string") return value;
    throw malformed(file, `${owner}.${key} is ${JSON.stringify(value)}, but a text is needed`);
  };
  const fairpull = metadata["fairpull"];
  let template: NotebookAbout["template"] = null;
  if (fairpull !== undefined) {
    if (typeof fairpull !== "object" || fairpull === null)
      throw malformed(file, "metadata.fairpull is no object");
    const part = (key: string) => {
      const value = text(fairpull as Record<string, unknown>, key, "metadata.fairpull");
      if (value === null) throw malformed(file, `metadata.fairpull.${key} is missing`);
      return value;
    };
    template = {template: part("template"), version: part("version"), requires: part("requires")};
  }
  return {
    title: text(metadata, "title") ?? firstHeading(notebook),
    authors: authors(metadata["authors"], file),
    date: text(metadata, "date"),
    licence: text(metadata, "licence") ?? text(metadata, "license"),
    abstract: text(metadata, "abstract"),
    car: text(metadata, "car"),
    template,
  };
}

function authors(value: unknown, file: string): string[] {
  if (value === undefined || value === null) return [];
  if (!Array.isArray(value)) throw malformed(file, "metadata.authors is no list");
  return value.map((author, index) => {
    const name = typeof author === "object" && author !== null ? (author as {name?: unknown}).name : author;
    if (typeof name !== "string") throw malformed(file, `metadata.authors[${index}] has no name`);
    return name;
  });
}

function firstHeading(notebook: Notebook): string | null {
  for (const cell of notebook.cells) {
    const heading = cell.cell_type === "markdown" && /^#[ \t]+(.+?)[ \t]*#*$/m.exec(cell.source);
    if (heading) return heading[1]!;
  }
  return null;
}

function malformed(file: string, words: string): InputError {
  return new InputError(2, {code: "notebook-metadata", file, words, hint: "mend the notebook's metadata"});
}
