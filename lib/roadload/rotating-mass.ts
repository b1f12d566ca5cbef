import {requirePositive} from "./check.ts";

/** How the share of rotating parts was come by. */
export interface RotatingMass {
  /** effective mass over mass */
  factor: number;
  /** standard uncertainty of the factor */
  factorU: number;
  /** whose formula, or "stated" */
  source: string;
}

/** A rule of thumb for one class of cars leaves about a quarter of what it adds. */
const RULE_U = 0.25;
/** A factor that was measured or computed from moments of inertia. */
const STATED_U = 0.1;

/**
 * Effective mass over mass.
 *
 * With a stated factor (from moments of inertia, see `effectiveMassKg`) that one wins. Else in gear 1.04 + 0.0025 ξ² with
 * ξ = engine turns over wheel turns (J. J. Taborek, Mechanics of Vehicles, 1957; T. D. Gillespie, Fundamentals of Vehicle Dynamics,
 * 1992, eq. 2-9b; from memory), and out of gear 1.03 (SAE J2263: effective mass of light vehicles when coasting). Rules of thumb:
 * a quarter of what they add is carried as uncertainty, a tenth of a stated one.
 *
 * @param input stated factor; or the overall ratio of the gear; neither = out of gear
 * @throws {RangeError} a stated factor below 1, a ratio not above zero
 */
export function rotatingMass({
  stated,
  overallRatio,
}: {
  stated?: number | null;
  overallRatio?: number | null;
}): RotatingMass {
  const of = (factor: number, share: number, source: string): RotatingMass => ({
    factor,
    factorU: share * (factor - 1),
    source,
  });
  if (stated != null) {
    if (!(stated >= 1 && stated < 3))
      throw new RangeError(`rotatingMass: a factor must lie from 1 to below 3, found ${stated}`);
    return of(stated, STATED_U, "stated");
  }
  if (overallRatio == null) return of(1.03, RULE_U, "SAE J2263, out of gear");
  requirePositive("rotatingMass", "overallRatio", overallRatio);
  return of(1.04 + 0.0025 * overallRatio * overallRatio, RULE_U, "Taborek 1957, 1.04 + 0.0025 ξ²");
}
