import type {Random} from "../stats/random.ts";

/**
 * A stationary Ornstein–Uhlenbeck process at equal steps: each call gives the next value. Exact at any step: neighbours
 * correlate by exp(−step/τ). With τ = 0 every value is new; with sd = 0 all are 0 and nothing is drawn.
 *
 * @param sd spread, in the unit wanted
 * @param correlationS τ [s]
 * @param stepS time from value to value [s]
 */
export function correlatedNoise(
  random: Random,
  sd: number,
  correlationS: number,
  stepS: number,
): () => number {
  if (sd === 0) return () => 0;
  const keep = correlationS > 0 ? Math.exp(-stepS / correlationS) : 0;
  const fresh = sd * Math.sqrt(1 - keep * keep);
  let value = sd * random.normal();
  let first = true;
  return () => {
    if (first) first = false;
    else value = keep * value + fresh * random.normal();
    return value;
  };
}

/** A number with mean 0 and spread 1: standard normal, or with a long tail to the low side (skewness −√2). */
export function standardNoise(random: Random, shape: "normal" | "skewed"): number {
  if (shape === "normal") return random.normal();
  let square = 0; // chi-square of 4 degrees of freedom: mean 4, variance 8, skewness √2
  for (let i = 0; i < 4; i++) square += random.normal() ** 2;
  return (4 - square) / Math.sqrt(8);
}
