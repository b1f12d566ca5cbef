import {readFileSync, writeFileSync} from "node:fs";
import {dirname, resolve} from "node:path";
import {type Document, isMap, parseDocument, stringify} from "yaml";
import {InputError} from "../result/error.ts";
import {readSessionBytes} from "../run/session.ts";

/** Keys of a session to set: each key of an object by itself, so that comments beside the others stay. */
export type SessionKeys = Record<string, Record<string, unknown>>;

const STYLE = {lineWidth: 0, flowCollectionPadding: false} as const;

/**
 * Writes keys into a session file; comments and the order of keys stay, and where the file has none of the keys yet all of its text
 * does. What comes out is read before it is written, so that no session is left that cannot be read.
 *
 * @throws {InputError} exit code 2 where the file cannot be written
 */
export function writeKeys(file: string, cwd: string, keys: SessionKeys): void {
  const path = resolve(cwd, file);
  const before = readFileSync(path, "utf8");
  const document = parseDocument(before);
  const isNew = Object.keys(keys).every(name => document.get(name) === undefined);
  const isBlock = isMap(document.contents) && !document.contents.flow;
  const text = isNew && isBlock ? `${before.replace(/\n?$/, "\n")}${textOf(keys)}` : changed(document, keys);
  readSessionBytes(new TextEncoder().encode(text), {file, folder: dirname(path), beforeRuns: true});
  try {
    writeFileSync(path, text);
  } catch (error) {
    throw new InputError(2, {
      code: "file-unwritable",
      words: `it cannot be written (${(error as NodeJS.ErrnoException).code})`,
      file,
      hint: "make it writable: plan and seal belong into the session",
    });
  }
}

/** One line a key, so that a session stays short. */
function textOf(keys: SessionKeys): string {
  const line = (value: unknown) => stringify(value, {...STYLE, collectionStyle: "flow"}).trimEnd();
  return Object.entries(keys)
    .map(([name, values]) => {
      const lines = Object.entries(values).filter(([, value]) => value !== undefined);
      return `${name}:\n${lines.map(([key, value]) => `  ${key}: ${line(value)}\n`).join("")}`;
    })
    .join("");
}

function changed(document: Document, keys: SessionKeys): string {
  for (const [name, values] of Object.entries(keys)) {
    if (!isMap(document.get(name))) document.set(name, document.createNode({}));
    for (const [key, value] of Object.entries(values)) {
      if (document.getIn([name, key]) !== value)
        document.setIn([name, key], document.createNode(value, {flow: true}));
    }
  }
  return document.toString(STYLE);
}
