import {readFile} from "node:fs/promises";
import {InputError} from "../result/error.ts";
import type {Cell, MimeBundle, Notebook, Output} from "./notebook.ts";

type Json = Record<string, unknown>;

/** Cell ids as nbformat 4.5 allows them (nbformat.readthedocs.io, "Cell ids"). */
const CELL_ID = /^[a-zA-Z0-9-_]{1,64}$/;

/**
 * Reads a notebook file.
 *
 * @throws {InputError} exit code 2: the file cannot be read, or as `parseNotebook`
 */
export async function readNotebook(file: string): Promise<Notebook> {
  let text: string;
  try {
    text = await readFile(file, "utf8");
  } catch (error) {
    const code = (error as NodeJS.ErrnoException).code;
    const why = code === "ENOENT" ? "there is no such file" : `it cannot be read (${code ?? error})`;
    throw new InputError(2, {code: "notebook-unreadable", file, words: why, hint: "check the path"});
  }
  return parseNotebook(text, file);
}

/**
 * Checks and reads the text of a notebook: nbformat 4, a TypeScript notebook, every cell and output well formed.
 * Texts that are stored as lists of lines are joined. Cells of nbformat 4.0–4.4, which had no ids, get "cell-1", …
 *
 * @param file name of the notebook, for messages
 * @throws {InputError} exit code 2: not JSON, not a notebook, another format version or language, a malformed cell, an id used twice
 */
export function parseNotebook(text: string, file: string): Notebook {
  const raw = parseJson(text, file);
  if (!isRecord(raw) || !("nbformat" in raw || "cells" in raw || "worksheets" in raw)) {
    throw problem(
      file,
      "notebook-format",
      "this is not a notebook (there is no nbformat)",
      "give an .ipynb file",
    );
  }
  if (raw["nbformat"] !== 4) {
    throw problem(
      file,
      "notebook-version",
      `the notebook says nbformat ${JSON.stringify(raw["nbformat"]) ?? "nothing"}, but 4 is needed`,
      "open it in Jupyter and save it again",
    );
  }
  const minor = raw["nbformat_minor"];
  const metadata = raw["metadata"];
  if (
    !Number.isInteger(minor) ||
    (minor as number) < 0 ||
    !isRecord(metadata) ||
    !Array.isArray(raw["cells"])
  ) {
    const bad = !isRecord(metadata) ? "metadata" : Array.isArray(raw["cells"]) ? "nbformat_minor" : "cells";
    throw problem(
      file,
      "notebook-format",
      `the notebook's "${bad}" is missing or malformed`,
      "save it again in Jupyter",
    );
  }
  requireTypeScript(metadata, file);
  const needsId = (minor as number) >= 5;
  const cells = raw["cells"].map((cell, index) => readCell(cell, index + 1, needsId, file));
  requireUniqueIds(cells, file);
  return {nbformat: 4, nbformat_minor: Math.max(minor as number, 5), metadata, cells};
}

function parseJson(text: string, file: string): unknown {
  try {
    return JSON.parse(text.replace(/^\uFEFF/, ""));
  } catch (error) {
    if (/^<{7} /m.test(text)) {
      const line = text.slice(0, text.search(/^<{7} /m)).split("\n").length;
      throw new InputError(2, {
        code: "notebook-not-json",
        file,
        line,
        words: "a merge left conflict marks in the notebook",
        hint: "resolve the conflict first",
      });
    }
    const position = /at position (\d+)/.exec(String(error))?.[1];
    const before = position === undefined ? null : text.slice(0, Number(position)).split("\n");
    throw new InputError(2, {
      code: "notebook-not-json",
      file,
      ...(before && {line: before.length, column: before[before.length - 1]!.length + 1}),
      words: text.trim() === "" ? "the file is empty" : "the file is not JSON, so it is not a notebook",
      hint: "give an .ipynb file, or save it again in Jupyter",
    });
  }
}

function requireTypeScript(metadata: Json, file: string): void {
  const kernelspec = isRecord(metadata["kernelspec"]) ? metadata["kernelspec"]["language"] : undefined;
  const info = isRecord(metadata["language_info"]) ? metadata["language_info"]["name"] : undefined;
  const language = kernelspec ?? info;
  if (typeof language === "string" && language.toLowerCase() === "typescript") return;
  throw problem(
    file,
    "notebook-language",
    language === undefined
      ? "the notebook does not say in which language its cells are"
      : `the notebook's cells are in ${JSON.stringify(language)}, but TypeScript is needed`,
    "choose a TypeScript kernel in the editor and save it",
  );
}

function readCell(raw: unknown, place: number, needsId: boolean, file: string): Cell {
  const fail = (what: string) =>
    problem(file, "notebook-cell", `cell ${place} ${what}`, "save it again in Jupyter");
  if (!isRecord(raw)) throw fail("is not an object");
  const type = raw["cell_type"];
  if (type !== "code" && type !== "markdown" && type !== "raw") {
    throw fail(`has the unknown type ${JSON.stringify(type) ?? "nothing"}`);
  }
  const source = joined(raw["source"]);
  if (source === null) throw fail("has no source text");
  if (raw["metadata"] !== undefined && !isRecord(raw["metadata"])) throw fail("has malformed metadata");
  const id = raw["id"] ?? (needsId ? undefined : `cell-${place}`);
  if (typeof id !== "string" || !CELL_ID.test(id)) {
    throw fail(
      `has ${id === undefined ? "no id" : `the id ${JSON.stringify(id)}`}; letters, digits, - and _ make an id`,
    );
  }
  const cell: Cell = {id, cell_type: type, source, metadata: (raw["metadata"] ?? {}) as Json};
  if (isRecord(raw["attachments"])) cell.attachments = raw["attachments"] as Record<string, MimeBundle>;
  if (type !== "code") return cell;
  const outputs = raw["outputs"] ?? [];
  if (!Array.isArray(outputs)) throw fail("has malformed outputs");
  cell.outputs = outputs.map(output => {
    const read = readOutput(output);
    if (read === null) throw fail("has a malformed output");
    return read;
  });
  cell.execution_count = Number.isInteger(raw["execution_count"]) ? (raw["execution_count"] as number) : null;
  return cell;
}

function readOutput(raw: unknown): Output | null {
  if (!isRecord(raw)) return null;
  const metadata = isRecord(raw["metadata"]) ? raw["metadata"] : {};
  switch (raw["output_type"]) {
    case "stream": {
      const text = joined(raw["text"]);
      const name = raw["name"];
      return text === null || (name !== "stdout" && name !== "stderr")
        ? null
        : {output_type: "stream", name, text};
    }
    case "display_data":
      return isRecord(raw["data"])
        ? {output_type: "display_data", data: joinedBundle(raw["data"]), metadata}
        : null;
    case "execute_result": {
      const count = raw["execution_count"];
      return isRecord(raw["data"])
        ? {
            output_type: "execute_result",
            data: joinedBundle(raw["data"]),
            metadata,
            execution_count: typeof count === "number" ? count : null,
          }
        : null;
    }
    case "error": {
      const {ename, evalue, traceback} = raw;
      return typeof ename === "string" && typeof evalue === "string" && isTextList(traceback)
        ? {output_type: "error", ename, evalue, traceback}
        : null;
    }
    default:
      return null;
  }
}

function joinedBundle(data: Json): MimeBundle {
  return Object.fromEntries(
    Object.entries(data).map(([type, content]) => [
      type,
      isJsonType(type) ? content : (joined(content) ?? content),
    ]),
  );
}

function isJsonType(type: string): boolean {
  return /[/+]json$/.test(type);
}

function joined(text: unknown): string | null {
  if (typeof text === "string") return text;
  return isTextList(text) ? text.join("") : null;
}

function isTextList(value: unknown): value is string[] {
  return Array.isArray(value) && value.every(line => typeof line === "string");
}

function isRecord(value: unknown): value is Json {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}

function requireUniqueIds(cells: readonly Cell[], file: string): void {
  const places = new Map<string, number>();
  for (const [index, {id}] of cells.entries()) {
    const first = places.get(id);
    if (first !== undefined) {
      throw problem(
        file,
        "notebook-id",
        `cells ${first} and ${index + 1} have the same id "${id}"`,
        "give one of them another id",
      );
    }
    places.set(id, index + 1);
  }
}

function problem(file: string, code: string, words: string, hint: string): InputError {
  return new InputError(2, {code, file, words, hint});
}
