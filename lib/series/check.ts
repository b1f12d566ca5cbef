/**
 * Refuses what is not a time series: time and values of one length n ≥ 2, finite, time strictly increasing.
 *
 * @param name   function the series was given to, begins the message
 * @param timeS  sample times [s]
 * @param values one value a sample, any unit
 * @throws {RangeError} naming the first sample that breaks the rule, counted from 0
 */
export function requireSeries(name: string, timeS: ArrayLike<number>, values: ArrayLike<number>): void {
  const n = timeS.length;
  if (values.length !== n) {
    throw new RangeError(
      `${name}: every sample needs a time, but there are ${n} times and ${values.length} values`,
    );
  }
  if (n < 2) throw new RangeError(`${name}: at least 2 samples are needed, found ${n}`);
  for (let i = 0; i < n; i++) {
    if (!Number.isFinite(timeS[i]))
      throw new RangeError(`${name}: time must be finite, but sample ${i} is ${timeS[i]}`);
    if (!Number.isFinite(values[i])) {
      throw new RangeError(
        `${name}: values must be finite, but sample ${i} is ${values[i]}; leave such samples out`,
      );
    }
    if (i > 0 && !(timeS[i] > timeS[i - 1])) {
      const [here, before] = twoTimes(timeS[i], timeS[i - 1]);
      throw new RangeError(
        `${name}: time must increase, but sample ${i} (${here} s) does not come after sample ${i - 1} (${before} s); ` +
          "sort the log or drop the repeated fix",
      );
    }
  }
}

/** Both times with two decimals, or with as many as it takes to tell them apart. */
function twoTimes(a: number, b: number): [string, string] {
  for (let decimals = 2; decimals < 10; decimals++) {
    const pair: [string, string] = [a.toFixed(decimals), b.toFixed(decimals)];
    if (a === b || pair[0] !== pair[1]) return pair;
  }
  return [String(a), String(b)];
}
