/** One condition on a version: at least the first, below the second; null = no bound. */
type Bounds = [from: number[], below: number[] | null];

/**
 * Whether a version lies in a range as npm writes them: `^0.1.0`, `~1.2`, `>=1.0.0 <3`, `1.x`, `*`, alternatives with `||`
 * (semver.org 2.0.0; docs.npmjs.com, "semver", ranges). Versions before a release (`-beta`) are not told apart from it.
 *
 * @returns null where the range is none
 */
export function isInRange(version: string, range: string): boolean | null {
  const found = numbers(version);
  if (found === null) return null;
  const alternatives = range.split("||").map(part => {
    const conditions = part.trim().split(/\s+/).map(bounds);
    if (conditions.some(condition => condition === null)) return null;
    return conditions.every(
      condition =>
        atLeast(found, condition![0]) && (condition![1] === null || !atLeast(found, condition![1])),
    );
  });
  return alternatives.includes(null) ? null : alternatives.includes(true);
}

function bounds(condition: string): Bounds | null {
  const match = /^(\^|~|>=|<=|>|<|=)?v?(\d+|[x*])(?:\.(\d+|[x*]))?(?:\.(\d+|[x*]))?(?:[-+][\w.-]+)?$/i.exec(
    condition,
  );
  if (!match) return condition === "" ? [[0, 0, 0], null] : null;
  const given = match
    .slice(2, 5)
    .map(part => (part === undefined || /[x*]/i.test(part) ? null : Number(part)));
  const places = given.includes(null) ? given.indexOf(null) : 3;
  const from = given.map((part, i) => (i < places ? part! : 0));
  const next = (place: number): number[] | null =>
    place < 0 ? null : from.map((part, i) => (i < place ? part : i === place ? part + 1 : 0));
  switch (match[1]) {
    case ">=":
      return [from, null];
    case ">":
      return [next(places - 1) ?? [Number.POSITIVE_INFINITY, 0, 0], null];
    case "<":
      return [[0, 0, 0], from];
    case "<=":
      return [[0, 0, 0], next(places - 1)];
    case "~":
      return [from, next(Math.min(places - 1, 1))];
    case "^": {
      const leading = from.findIndex(part => part !== 0);
      return [from, next(leading < 0 ? places - 1 : Math.min(leading, places - 1))];
    }
    default:
      return [from, next(places - 1)];
  }
}

function numbers(version: string): number[] | null {
  const match = /^v?(\d+)\.(\d+)\.(\d+)/.exec(version);
  return match && match.slice(1).map(Number);
}

function atLeast(version: readonly number[], bound: readonly number[]): boolean {
  for (const [i, part] of version.entries()) if (part !== bound[i]!) return part > bound[i]!;
  return true;
}
