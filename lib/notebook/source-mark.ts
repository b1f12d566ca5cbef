import {createHash} from "node:crypto";
import type {Cell, Output} from "./notebook.ts";

/** Digits of the hash that are kept: 64 bits, far more than a notebook has cells. */
const DIGITS = 16;

/**
 * What an output's metadata say of the cell that gave it, so that a change of the cell afterwards can be seen:
 * `metadata.fairpull.source`, the start of the SHA-256 of the source.
 */
export function sourceMark(source: string): {fairpull: {source: string}} {
  return {fairpull: {source: createHash("sha256").update(source).digest("hex").slice(0, DIGITS)}};
}

/** False where an output says that another source gave it; null where none says. */
export function isOwnOutput(cell: Cell, output: Output): boolean | null {
  if (!("metadata" in output)) return null;
  const mark = (output.metadata["fairpull"] as {source?: unknown} | undefined)?.source;
  return typeof mark === "string" ? mark === sourceMark(cell.source).fairpull.source : null;
}
