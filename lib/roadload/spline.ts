/**
 * Cubic B-splines with equal knots over a span (C. de Boor, A Practical Guide to Splines; on equal knots each is one piecewise
 * polynomial, shifted). Every place lies under four of them.
 */
export class SplineBasis {
  readonly fromM: number;
  readonly spacingM: number;
  /** number of functions */
  readonly size: number;

  /** @param spacingM wished for; the span is divided evenly into at least one piece of at most this length */
  constructor(fromM: number, toM: number, spacingM: number) {
    const pieces = Math.max(1, Math.ceil((toM - fromM) / spacingM));
    this.fromM = fromM;
    this.spacingM = (toM - fromM) / pieces;
    this.size = pieces + 3;
  }

  /** Calls with the index and value of each of the four functions at a place of the span. */
  each(placeM: number, use: (k: number, value: number) => void): void {
    const {piece, t} = this.#locate(placeM);
    const s = 1 - t;
    use(piece, (s * s * s) / 6);
    use(piece + 1, (3 * t * t * t - 6 * t * t + 4) / 6);
    use(piece + 2, (-3 * t * t * t + 3 * t * t + 3 * t + 1) / 6);
    use(piece + 3, (t * t * t) / 6);
  }

  /** Σ c_k B_k(place) */
  valueAt(coefficients: ArrayLike<number>, placeM: number): number {
    let sum = 0;
    this.each(placeM, (k, value) => {
      sum += coefficients[k] * value;
    });
    return sum;
  }

  /** Derivative of `valueAt` by place. */
  slope(c: ArrayLike<number>, placeM: number): number {
    const {piece: k, t} = this.#locate(placeM);
    const s = 1 - t;
    const sum =
      (-s * s * c[k]) / 2 +
      ((3 * t * t - 4 * t) * c[k + 1]) / 2 +
      ((-3 * t * t + 2 * t + 1) * c[k + 2]) / 2 +
      (t * t * c[k + 3]) / 2;
    return sum / this.spacingM;
  }

  /**
   * Adds `weight` times the sum of squared curvatures at the knots to a normal matrix, and a trace of ridge.
   *
   * Curvature at a knot is the second difference of the coefficients over the spacing squared.
   */
  addPenalty(normal: Float64Array, weight: number, ridge: number): void {
    const n = this.size;
    const w = weight / this.spacingM ** 4;
    for (let k = 0; k + 2 < n; k++) {
      const difference = [1, -2, 1];
      for (let i = 0; i < 3; i++)
        for (let j = 0; j < 3; j++) normal[(k + i) * n + k + j] += w * difference[i] * difference[j];
    }
    for (let k = 0; k < n; k++) normal[k * n + k] += ridge * (w + 1);
  }

  #locate(placeM: number): {piece: number; t: number} {
    const x = (placeM - this.fromM) / this.spacingM;
    const piece = Math.min(this.size - 4, Math.max(0, Math.floor(x)));
    return {piece, t: x - piece};
  }
}
