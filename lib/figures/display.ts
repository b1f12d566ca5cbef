/** What Jupyter's JavaScript kernels call to show an object: returns MIME type → content. */
export const DISPLAY: unique symbol = Symbol.for("Jupyter.display") as never;

/** What Node calls when it prints an object. */
export const INSPECT: unique symbol = Symbol.for("nodejs.util.inspect.custom") as never;

/** Where fairpull's kernel and runner offer to show a value in the middle of a cell. */
const HOOK = Symbol.for("fairpull.display");

/** An object that shows itself in a notebook and, as one line of text, on a console. */
export interface Displayed {
  /** MIME type → content, for notebooks */
  [DISPLAY](): Record<string, unknown>;
  /** text for consoles */
  [INSPECT](): string;
}

type Hook = (value: unknown, place?: {id: string; update: boolean}) => void;

/** The notebook's own way to show a value; null in plain Node and in the unmodified tslab kernel. */
function notebookHook(): Hook | null {
  const hook = (globalThis as Record<symbol, unknown>)[HOOK];
  return typeof hook === "function" ? (hook as Hook) : null;
}

/**
 * Shows a value at this point of a cell, as the value of the last line would be shown. Outside a notebook run by
 * fairpull (plain Node, the unmodified tslab kernel) its text goes to the console.
 */
export function display(value: unknown): void {
  const hook = notebookHook();
  if (hook) hook(value);
  else console.log(value);
}

/** A place among the outputs of a cell whose content can be replaced; the notebook keeps the last one. */
export interface LiveDisplay {
  /** puts a value in the place of the one before */
  show(value: unknown): void;
}

let places = 0;

/** Opens a place for values that replace each other; null outside a notebook run by fairpull. */
export function liveDisplay(): LiveDisplay | null {
  const hook = notebookHook();
  if (!hook) return null;
  const id = `place-${++places}`;
  let update = false;
  return {
    show(value) {
      hook(value, {id, update});
      update = true;
    },
  };
}

/** Text made safe for HTML, in content and in quoted attributes. */
export function escapeHtml(text: string): string {
  return text
    .replaceAll("&", "&amp;")
    .replaceAll("<", "&lt;")
    .replaceAll(">", "&gt;")
    .replaceAll('"', "&quot;");
}
