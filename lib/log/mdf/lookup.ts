/** Index of the range that holds a value, or −1. */
export type RangeOf = (value: number) => number;

/** Index of the last element that is not above `value`, or −1. */
function lastNotAbove(sorted: ArrayLike<number>, value: number): number {
  let low = -1;
  let high = sorted.length;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (sorted[middle] <= value) low = middle;
    else high = middle;
  }
  return low;
}

/** Table with straight lines between its points; beyond its ends the outermost result. Keys ascend. */
export function straightBetween(keys: number[], results: number[]): (value: number) => number {
  return value => {
    if (Number.isNaN(value)) return value;
    const i = lastNotAbove(keys, value);
    if (i < 0) return results[0];
    if (i === keys.length - 1) return results[i];
    return results[i] + ((value - keys[i]) / (keys[i + 1] - keys[i])) * (results[i + 1] - results[i]);
  };
}

/** Table without interpolation: the result of the nearest key, of two equally near ones the lower. Keys ascend. */
export function nearestOf(keys: number[], results: number[]): (value: number) => number {
  return value => {
    if (Number.isNaN(value)) return value;
    const i = lastNotAbove(keys, value);
    if (i < 0) return results[0];
    if (i === keys.length - 1) return results[i];
    return value - keys[i] <= keys[i + 1] - value ? results[i] : results[i + 1];
  };
}

/**
 * Finds ranges [low, high), or [low, high] of whole numbers, given as `values[step·i]` and `values[step·i + 1]`.
 *
 * @returns null where ranges overlap in more than one point
 */
export function rangesOf(values: number[], step: number, count: number, whole: boolean): RangeOf | null {
  const order = Array.from({length: count}, (_, i) => i).sort((a, b) => values[step * a] - values[step * b]);
  const lows = Float64Array.from(order, i => values[step * i]);
  const highs = Float64Array.from(order, i => values[step * i + 1]);
  for (let i = 1; i < count; i++) if (!(highs[i - 1] <= lows[i])) return null;
  return value => {
    const i = lastNotAbove(lows, value);
    // A range of one point holds that point also among fractions.
    const inside = i >= 0 && (value < highs[i] || (value === highs[i] && (whole || lows[i] === highs[i])));
    return inside ? order[i] : -1;
  };
}
