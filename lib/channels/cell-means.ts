/** Cells side by side: `count` of them, each `step` wide, the first from `from` on. */
export interface Grid {
  from: number;
  step: number;
  count: number;
}

/** Means over the cells that a line covers whole; the others are left out at both ends. */
export interface CellMeans {
  /** cells `first` … `first + values.length − 1` of the grid */
  first: number;
  values: Float64Array;
}

/**
 * Mean of a channel over each cell of another that rises (engine speed in a pull): the straight line between the points,
 * integrated over the cell. Points at which the rising channel does not pass all before it are passed over, so that noise on it
 * cannot turn the line back.
 *
 * Exact for a channel that is straight between its points. A point missing inside a cell is bridged; a cell that the line
 * does not cover whole has no mean.
 *
 * @param x rising channel, y values, same length, finite
 * @returns null where no cell is covered
 */
export function cellMeans(
  x: ArrayLike<number>,
  y: ArrayLike<number>,
  {from, step, count}: Grid,
): CellMeans | null {
  const xs: number[] = [];
  const ys: number[] = [];
  for (let i = 0; i < x.length; i++) {
    if (xs.length > 0 && x[i] <= xs[xs.length - 1]) continue;
    xs.push(x[i]);
    ys.push(y[i]);
  }
  if (xs.length < 2) return null;
  const last = xs[xs.length - 1];
  const first = Math.max(0, Math.ceil((xs[0] - from) / step - ROUNDING));
  const end = Math.min(count, Math.floor((last - from) / step + ROUNDING));
  if (end <= first) return null;
  const values = new Float64Array(end - first);
  let i = 0;
  for (let cell = first; cell < end; cell++) {
    const low = Math.max(xs[0], from + cell * step);
    const high = Math.min(last, from + (cell + 1) * step);
    while (i + 2 < xs.length && xs[i + 1] <= low) i++;
    let area = 0;
    for (let k = i; k + 1 < xs.length && xs[k] < high; k++) {
      const a = Math.max(low, xs[k]);
      const b = Math.min(high, xs[k + 1]);
      if (b > a) area += (b - a) * lineAt(xs, ys, k, (a + b) / 2);
    }
    values[cell - first] = area / (high - low);
  }
  return {first, values};
}

/** A cell edge that a point misses by less than this part of a step is covered. */
const ROUNDING = 1e-9;

function lineAt(xs: readonly number[], ys: readonly number[], k: number, at: number): number {
  return ys[k] + ((ys[k + 1] - ys[k]) * (at - xs[k])) / (xs[k + 1] - xs[k]);
}
