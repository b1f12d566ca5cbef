import {requirePositive} from "./check.ts";
import {roadLoadN, STANDARD_GRAVITY_MPS2} from "./road-load.ts";
import type {SmoothPull} from "./smooth-pull.ts";

/** What the car and the day of one run were, or what they are taken to be in the reference. */
export interface RunConditions {
  massKg: number;
  /** effective mass over mass */
  rotatingFactor: number;
  dragAreaM2: number;
  rollingCoefficient: number;
  airDensityKgM3: number;
  /** against the car [m/s] */
  headwindMps: number;
  /** rise in the direction of travel at a place of the common track */
  gradeAt(placeM: number): number;
  gravityMps2?: number;
}

/** Level. */
export const levelRoad = (): number => 0;

/**
 * Change of the time through a band when the run's road load and mass are exchanged for those of a reference [s].
 *
 *     ∫ (a/a_ref − 1) dt along the run,  a_ref = (m_e a + F_run(v, place) − F_ref(v)) / m_e,ref
 *
 * with the run's own smoothed a(v). Only the *difference* of the road loads counts, so a run in reference conditions gives 0
 * exactly, and an error of mass, CdA or Crr scales the correction and nothing else. The trapezium rule over the samples; noise σ
 * of a makes the correction larger by σ²/a² of itself. What the engine makes of other air or heat is not corrected.
 *
 * @returns null where the reference load leaves nothing to accelerate: the run would not get through the band there
 * @throws {RangeError} masses, drag or density out of range, as `roadLoadN`
 */
export function timeCorrectionS(
  pull: SmoothPull,
  run: RunConditions,
  reference: RunConditions,
): number | null {
  requirePositive("timeCorrectionS", "massKg", run.massKg);
  requirePositive("timeCorrectionS", "massKg", reference.massKg);
  const {timeS, speedMps, accelerationMps2, placeM} = pull;
  const effectiveKg = run.massKg * run.rotatingFactor;
  const referenceKg = reference.massKg * reference.rotatingFactor;
  let sum = 0;
  let before = 0;
  for (let i = 0; i < timeS.length; i++) {
    const a = accelerationMps2[i];
    const loadN = loadOf(speedMps[i], placeM[i], run);
    const referenceN = loadOf(speedMps[i], placeM[i], reference);
    const forceN = effectiveKg * a + (loadN - referenceN); // m_e,ref · a_ref
    if (!(a > 0 && forceN > 0)) return null;
    const integrand = (referenceKg * a) / forceN - 1; // exactly 0 in reference conditions
    if (i > 0) sum += ((integrand + before) / 2) * (timeS[i] - timeS[i - 1]);
    before = integrand;
  }
  return sum;
}

/** Road load of a run at a speed and a place [N]; see `roadLoadN`. */
export function loadOf(speedMps: number, placeM: number, conditions: RunConditions): number {
  return roadLoadN(speedMps, {
    ...conditions,
    grade: conditions.gradeAt(placeM),
    gravityMps2: conditions.gravityMps2 ?? STANDARD_GRAVITY_MPS2,
  });
}

/** What each cause adds to the correction [s]; they sum to the whole but for their products. */
export interface CorrectionParts {
  grade: number;
  wind: number;
  air: number;
  mass: number;
  total: number;
}

/** The correction and the share of every cause, each exchanged alone. @returns null as `timeCorrectionS` */
export function correctionParts(
  pull: SmoothPull,
  run: RunConditions,
  reference: RunConditions,
): CorrectionParts | null {
  const alone = (change: Partial<RunConditions>) =>
    timeCorrectionS(pull, {...reference, ...change}, reference);
  const parts = {
    grade: alone({gradeAt: run.gradeAt}),
    wind: alone({headwindMps: run.headwindMps}),
    air: alone({airDensityKgM3: run.airDensityKgM3}),
    mass: alone({massKg: run.massKg, rotatingFactor: run.rotatingFactor}),
    total: timeCorrectionS(pull, run, reference),
  };
  return Object.values(parts).some(part => part === null) ? null : (parts as CorrectionParts);
}
