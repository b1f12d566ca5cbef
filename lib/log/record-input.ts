/** Where fairpull's runner listens for the files that a notebook's calls read. */
const HOOK = Symbol.for("fairpull.inputs");

/**
 * Tells the notebook runner, where there is one, that a file was read, so that the published page lists it.
 *
 * @param path   absolute path
 * @param sha256 lower-case hex of its bytes
 */
export function recordInput(path: string, sha256: string): void {
  const hook = (globalThis as Record<symbol, unknown>)[HOOK];
  if (typeof hook === "function") hook(path, sha256);
}
