/**
 * Oldest minor of each major of Node that has `require` of ES modules, on which every import in a notebook rests, and
 * that the packages allow (jsdom is the strictest). A major that is not named counts from `FROM` on.
 */
const OLDEST_MINOR = new Map([
  [20, 19],
  [22, 13],
]);
const FROM = 24;

/**
 * Words for a Node that is too old, or null.
 *
 * @param {string} version "20.19.0"
 * @param {string} [execPath]
 * @returns {string | null}
 */
export function nodeVersionProblem(version, execPath = process.execPath) {
  const [major = 0, minor = 0] = version.split(".").map(Number);
  const oldest = OLDEST_MINOR.get(major);
  if (oldest === undefined ? major >= FROM : minor >= oldest) return null;
  return `fairpull needs Node 20.19 or newer (of 22: 22.13 or newer; not 21 or 23), but ${execPath} is ${version}; install a newer one from https://nodejs.org`;
}
