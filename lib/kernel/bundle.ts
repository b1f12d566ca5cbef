import {inspect} from "node:util";
import type {MimeBundle} from "../notebook/notebook.ts";
import {frameBundle, isFrame} from "./frame.ts";

const DISPLAY = Symbol.for("Jupyter.display");

/** How a value is printed where it does not show itself. */
const PRINTED = {maxArrayLength: 50, depth: 3} as const;

/**
 * A value as one MIME bundle: what its `Symbol.for("Jupyter.display")` method returns, a table for a data frame, else
 * its text. Bytes become base64, JSON given as text is parsed, and `text/plain` is always there.
 *
 * @returns the bundle; a promise only where the method gives one, so that a display in a loop shows at once
 */
export function mimeBundle(value: unknown): MimeBundle | Promise<MimeBundle> {
  const show = (value as Record<symbol, unknown> | null | undefined)?.[DISPLAY];
  if (typeof show !== "function") return isFrame(value) ? frameBundle(value) : {"text/plain": printed(value)};
  const given = show.call(value) as MimeBundle | Promise<MimeBundle>;
  const complete = (bundle: MimeBundle) => {
    const contents = Object.entries(bundle).map(([type, content]) => [type, stored(type, content)]);
    if (!("text/plain" in bundle)) contents.push(["text/plain", printed(value)]);
    return Object.fromEntries(contents);
  };
  return given instanceof Promise ? given.then(complete) : complete(given);
}

/** Marks that following the asynchronous context leaves on promises and timers; they are not the user's and vary. */
const CONTEXT_MARKS = /,?\s*\[Symbol\((async_id_symbol|trigger_async_id_symbol|kResourceStore)\)\]: \w+/g;

function printed(value: unknown): string {
  return inspect(value, PRINTED).replace(CONTEXT_MARKS, "");
}

/** Content of one MIME type in the form in which a notebook stores it. */
export function stored(type: string, content: unknown): unknown {
  if (content instanceof Uint8Array) return Buffer.from(content).toString("base64");
  if (!/[/+]json$/.test(type)) return content;
  if (typeof content !== "string") return JSON.parse(JSON.stringify(content));
  try {
    return JSON.parse(content);
  } catch {
    return content; // a JSON text that is no document of its own: kept as the string it is
  }
}
