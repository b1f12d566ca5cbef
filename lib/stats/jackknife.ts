import type {Statistic} from "./bootstrap.ts";
import type {Arm} from "./bootstrap-replicates.ts";
import {plainMean} from "./summary.ts";

/**
 * Acceleration from the values left when one thing is left out, for one or several arms: Σ U³/n³ / 6(Σ U²/n²)^1.5 with
 * U = (n − 1)(mean of these values − value), about their own mean as in Efron and Tibshirani 1993, eq. 14.15.
 */
export function jackknifeAcceleration<T>(arms: readonly Arm<T>[], statistic: Statistic<T>): number {
  let cubes = 0;
  let squares = 0;
  for (const {values, sign} of arms) {
    const n = values.length;
    const left = values.map((_, i) => sign * statistic.value(values.filter((_, k) => k !== i)));
    const centre = plainMean(left);
    for (const value of left) {
      const influence = ((n - 1) * (centre - value)) / n;
      cubes += influence ** 3;
      squares += influence ** 2;
    }
  }
  return squares === 0 ? 0 : cubes / (6 * squares ** 1.5);
}
