import {requireFinite, requireNotNegative, requirePositive} from "./check.ts";

/** Nodes and weights of 5-point Gauss–Legendre quadrature on [−1, 1] (DLMF, dlmf.nist.gov/3.5, §3.5(v)). */
const NODES = [0, 0.5384693101056831, -0.5384693101056831, 0.906179845938664, -0.906179845938664];
const WEIGHTS = [
  0.5688888888888889, 0.47862867049936647, 0.47862867049936647, 0.23692688505618908, 0.23692688505618908,
];
/** Panels of the band. Each is exact for a polynomial of degree 9, so curves of power and drag leave rounding only. */
const PANELS = 64;

/** How long and how far from one speed to another. */
export interface BetweenSpeeds {
  elapsedS: number;
  distanceM: number;
}

/**
 * Time and distance between two speeds, when the net force depends on speed alone: t = ∫ m dv / F, x = ∫ m v dv / F.
 *
 * Gauss–Legendre quadrature in speed, within 1e-10 relative where the force is smooth; less exact where it has kinks (a table
 * of power) or almost vanishes (near top speed).
 *
 * @param netForceN force that accelerates [N] at a speed [m/s]; negative when coasting
 * @param massKg    effective mass [kg]
 * @param fromMps   first speed [m/s]
 * @param toMps     second speed [m/s], above the first for a pull, below it for a coastdown
 * @returns null where the force vanishes or turns round in between: the second speed is never reached
 * @throws {RangeError} a speed negative or not finite, mass not above zero, a force that is NaN
 */
export function betweenSpeeds(
  netForceN: (speedMps: number) => number,
  {massKg, fromMps, toMps}: {massKg: number; fromMps: number; toMps: number},
): BetweenSpeeds | null {
  requirePositive("betweenSpeeds", "massKg", massKg);
  requireNotNegative("betweenSpeeds", "fromMps", fromMps);
  requireNotNegative("betweenSpeeds", "toMps", toMps);
  if (fromMps === toMps) return {elapsedS: 0, distanceM: 0};
  const half = (toMps - fromMps) / PANELS / 2;
  let elapsedS = 0;
  let distanceM = 0;
  for (let panel = 0; panel < PANELS; panel++) {
    const middle = fromMps + (2 * panel + 1) * half;
    for (let i = 0; i < NODES.length; i++) {
      const speed = middle + half * NODES[i];
      const force = netForceN(speed);
      if (Number.isNaN(force)) requireFinite("betweenSpeeds", `net force at ${speed} m/s`, force);
      if (!(force * half > 0)) return null;
      const dt = (massKg * half * WEIGHTS[i]) / force;
      elapsedS += dt;
      distanceM += speed * dt;
    }
  }
  return {elapsedS, distanceM};
}
