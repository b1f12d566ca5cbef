import {studentTQuantile} from "../stats/distributions.ts";
import type {Interval} from "../stats/interval.ts";

/** Power that a difference in spark is worth, by a slope that the user gave. */
export interface SparkPower {
  /** share of the power, changed − baseline */
  estimate: number;
  interval: Interval | null;
}

/**
 * Carries a difference in spark over to power by a slope that somebody measured: product, with both standard uncertainties in
 * quadrature (GUM 5.1.2). There is no slope for engines in general: it depends on how far the spark is from the best one.
 *
 * @param difference in degrees, with its standard error and degrees of freedom; null where there is none
 * @param slope power for one degree [1/deg] with its standard uncertainty
 */
export function sparkPower(
  difference: {estimate: number; standardError: number | null; df: number | null},
  slope: {perDegree: number; perDegreeU: number},
  {level}: {level: number},
): SparkPower {
  const {estimate, standardError, df} = difference;
  const power = slope.perDegree * estimate;
  if (standardError === null || df === null) return {estimate: power, interval: null};
  const u = Math.hypot(slope.perDegree * standardError, slope.perDegreeU * estimate);
  const half = studentTQuantile((1 + level) / 2, df) * u;
  return {
    estimate: power,
    interval: {
      low: power - half,
      high: power + half,
      level,
      method: "t, the uncertainties of difference and slope in quadrature",
    },
  };
}
