/** A semantic version without pre-release parts (semver.org 2.0.0). */
const VERSION = /^(0|[1-9]\d*)\.(0|[1-9]\d*)\.(0|[1-9]\d*)$/;

/** True for "1.2.3". */
export function isVersion(text: string): boolean {
  return VERSION.test(text);
}

/**
 * Below 0 where `a` is older than `b`, 0 where they are the same, above 0 where it is newer.
 *
 * @throws {RangeError} one of them is no version
 */
export function compareVersions(a: string, b: string): number {
  const [left, right] = [a, b].map(text => {
    const match = VERSION.exec(text);
    if (!match) throw new RangeError(`compareVersions: "${text}" is no version such as 1.2.3`);
    return match.slice(1).map(Number);
  });
  const place = left.findIndex((part, i) => part !== right[i]);
  return place < 0 ? 0 : left[place] - right[place];
}
