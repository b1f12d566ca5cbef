/** More steps than halving needs to exhaust a double. */
const MOST_STEPS = 200;

/**
 * Where a continuous function crosses zero, to a few units in the last place of x.
 *
 * T. R. Chandrupatla, Adv. Eng. Softw. 28 (1997) 145 (from memory): inverse quadratic interpolation where the last three
 * points allow it, halving elsewhere; infinite values are halved over.
 *
 * @param low  the function has one sign here …
 * @param high … and the other here, or is zero
 * @throws {RangeError} the same sign at both ends, or NaN at one of them
 */
export function findRoot(f: (x: number) => number, low: number, high: number): number {
  let x1 = low;
  let x2 = high;
  let f1 = f(x1);
  let f2 = f(x2);
  if (f1 === 0) return x1;
  if (f2 === 0) return x2;
  if (!((f1 < 0 && f2 > 0) || (f1 > 0 && f2 < 0))) {
    throw new RangeError(`findRoot: no change of sign between ${low} (${f1}) and ${high} (${f2})`);
  }
  let share = 0.5;
  for (let step = 0; step < MOST_STEPS; step++) {
    const x = x1 + share * (x2 - x1);
    const value = f(x);
    let x3: number;
    let f3: number;
    if (value > 0 === f1 > 0) {
      x3 = x1;
      f3 = f1;
    } else {
      x3 = x2;
      f3 = f2;
      x2 = x1;
      f2 = f1;
    }
    x1 = x;
    f1 = value;
    const best = Math.abs(f1) < Math.abs(f2) ? x1 : x2;
    const narrow = (2 * Number.EPSILON * Math.abs(best) + Number.MIN_VALUE) / Math.abs(x2 - x1);
    if (f1 === 0) return x1;
    if (narrow > 0.5) return best;
    const place = (x1 - x2) / (x3 - x2);
    const height = (f1 - f2) / (f3 - f2);
    share =
      height * height < place && (1 - height) * (1 - height) < 1 - place
        ? (f1 / (f2 - f1)) * (f3 / (f2 - f3)) + ((x3 - x1) / (x2 - x1)) * (f1 / (f3 - f1)) * (f2 / (f3 - f2))
        : 0.5;
    share = Math.min(1 - narrow, Math.max(narrow, share));
  }
  return x1;
}

/**
 * Root of an increasing function on the whole line: the bracket starts at `start` ± `reach` and grows.
 *
 * @throws {RangeError} no root within the range of a double
 */
export function findIncreasingRoot(
  f: (x: number) => number,
  {start, reach}: {start: number; reach: number},
): number {
  let low = start - reach;
  let high = start + reach;
  for (let width = reach; f(low) > 0; width *= 2) low -= width;
  for (let width = reach; f(high) < 0; width *= 2) high += width;
  return findRoot(f, low, high);
}
