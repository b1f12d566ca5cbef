import {requireFinite} from "./check.ts";

/** WGS 84: normal gravity at the equator, Somigliana's constant, squared eccentricity (NIMA TR8350.2). */
const EQUATOR_MPS2 = 9.7803253359;
const SOMIGLIANA = 0.00193185265241;
const ECCENTRICITY_2 = 0.00669437999014;
/** Free-air decrease [1/s²]. */
const FREE_AIR_PER_S2 = 3.086e-6;

/**
 * Normal gravity on the WGS 84 ellipsoid (C. Somigliana), with the free-air decrease by height [m/s²].
 *
 * True gravity is within 1e-3 m/s² (0.01 %) of it nearly everywhere; between equator and pole it moves by 0.5 %.
 *
 * @param latitudeDeg −90 … 90
 * @param heightM     above the ellipsoid, default 0
 * @throws {RangeError} latitude outside −90 … 90, height not finite
 */
export function gravityWgs84(latitudeDeg: number, heightM = 0): number {
  const s = squaredSine("gravityWgs84", latitudeDeg);
  requireFinite("gravityWgs84", "heightM", heightM);
  return (
    (EQUATOR_MPS2 * (1 + SOMIGLIANA * s)) / Math.sqrt(1 - ECCENTRICITY_2 * s) - FREE_AIR_PER_S2 * heightM
  );
}

/** Normal gravity by the series of GRS 80 as 40 CFR 1065.630 has it [m/s²]; 1.4e-6 m/s² above WGS 84. @throws {RangeError} latitude outside −90 … 90 */
export function gravityGrs80(latitudeDeg: number): number {
  const s = squaredSine("gravityGrs80", latitudeDeg);
  return 9.7803267715 * (1 + s * (5.2790414e-3 + s * (2.32718e-5 + s * (1.262e-7 + s * 7e-10))));
}

function squaredSine(caller: string, latitudeDeg: number): number {
  if (!(latitudeDeg >= -90 && latitudeDeg <= 90))
    throw new RangeError(`${caller}: latitude must be -90 to 90 degrees, found ${latitudeDeg}`);
  return Math.sin((latitudeDeg * Math.PI) / 180) ** 2;
}
