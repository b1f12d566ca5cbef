/** An ellipsoid of revolution. */
export interface Ellipsoid {
  equatorialRadiusM: number;
  flattening: number;
}

/** World Geodetic System 1984: a = 6 378 137 m, 1/f = 298.257 223 563 (NGA.STND.0036, 2014, table 3.1). */
export const WGS84: Ellipsoid = {equatorialRadiusM: 6_378_137, flattening: 1 / 298.257_223_563};

export interface Geodesic {
  distanceM: number;
  /** direction of the line at its start, clockwise from north [deg], 0 ≤ a < 360; 0 where the points coincide */
  azimuthDeg: number;
  /** direction from the second point back to the first [deg] */
  backAzimuthDeg: number;
}

/** Change of longitude on the sphere at which the iteration has settled [rad]: 25 nm on the ground, ten times its rounding. */
const SETTLED_RAD = 4e-15;
/** Points that are not nearly opposite settle in four to ten steps. */
const MOST_STEPS = 100;

/**
 * Shortest line between two points on an ellipsoid. T. Vincenty, "Direct and inverse solutions of geodesics on the ellipsoid
 * with application of nested equations", Survey Review 23 (1975) 88–93, equations 13–21.
 *
 * Beside GeographicLib the distance is wrong by less than 1 µm up to 100 km and by less than 0.1 mm up to 10 000 km.
 *
 * @param latitudeDeg  geodetic latitude of the first point [deg], |φ| ≤ 90
 * @param longitudeDeg longitude of the first point [deg], east positive
 * @returns null for points so nearly opposite each other on the Earth that the iteration does not settle
 * @throws {RangeError} an angle is not finite or a latitude is beyond a pole
 */
export function geodesic(
  latitudeDeg: number,
  longitudeDeg: number,
  toLatitudeDeg: number,
  toLongitudeDeg: number,
  ellipsoid: Ellipsoid = WGS84,
): Geodesic | null {
  requirePoint(latitudeDeg, longitudeDeg);
  requirePoint(toLatitudeDeg, toLongitudeDeg);
  const {equatorialRadiusM: a, flattening: f} = ellipsoid;
  const b = (1 - f) * a;
  // U = reduced latitude, L = difference in longitude, λ the same on the auxiliary sphere, σ = arc, α = azimuth at the equator
  const U1 = Math.atan((1 - f) * Math.tan(radians(latitudeDeg)));
  const U2 = Math.atan((1 - f) * Math.tan(radians(toLatitudeDeg)));
  const [sinU1, cosU1, sinU2, cosU2] = [Math.sin(U1), Math.cos(U1), Math.sin(U2), Math.cos(U2)];
  const L = radians(withinHalfTurn(toLongitudeDeg - longitudeDeg));
  let lambda = L;
  for (let step = 0; step < MOST_STEPS; step++) {
    const [sinL, cosL] = [Math.sin(lambda), Math.cos(lambda)];
    const east = cosU2 * sinL;
    const north = cosU1 * sinU2 - sinU1 * cosU2 * cosL;
    const sinSigma = Math.hypot(east, north); // 14
    if (sinSigma === 0 && lambda === 0) return {distanceM: 0, azimuthDeg: 0, backAzimuthDeg: 0};
    const cosSigma = sinU1 * sinU2 + cosU1 * cosU2 * cosL; // 15
    const sigma = Math.atan2(sinSigma, cosSigma); // 16
    const sinAlpha = sinSigma === 0 ? 0 : (cosU1 * cosU2 * sinL) / sinSigma; // 17
    const cos2Alpha = 1 - sinAlpha * sinAlpha;
    const cos2M = cos2Alpha === 0 ? 0 : cosSigma - (2 * sinU1 * sinU2) / cos2Alpha; // 18; along the equator any value will do
    const C = (f / 16) * cos2Alpha * (4 + f * (4 - 3 * cos2Alpha)); // 10
    const inner = cos2M + C * cosSigma * (2 * cos2M * cos2M - 1);
    const next = L + (1 - C) * f * sinAlpha * (sigma + C * sinSigma * inner); // 11
    if (Math.abs(next) > Math.PI) return null; // nearly opposite
    const settled = Math.abs(next - lambda) <= SETTLED_RAD;
    lambda = next;
    if (!settled) continue;
    const u2 = (cos2Alpha * (a * a - b * b)) / (b * b);
    const A = 1 + (u2 / 16384) * (4096 + u2 * (-768 + u2 * (320 - 175 * u2))); // 3
    const B = (u2 / 1024) * (256 + u2 * (-128 + u2 * (74 - 47 * u2))); // 4
    const m2 = 2 * cos2M * cos2M - 1;
    const third = (B / 6) * cos2M * (4 * sinSigma * sinSigma - 3) * (4 * cos2M * cos2M - 3);
    const deltaSigma = B * sinSigma * (cos2M + (B / 4) * (cosSigma * m2 - third)); // 6
    return {
      distanceM: b * A * (sigma - deltaSigma), // 19
      azimuthDeg: fullTurn(
        Math.atan2(cosU2 * Math.sin(lambda), cosU1 * sinU2 - sinU1 * cosU2 * Math.cos(lambda)),
      ), // 20
      backAzimuthDeg: fullTurn(
        Math.atan2(-cosU1 * Math.sin(lambda), sinU1 * cosU2 - cosU1 * sinU2 * Math.cos(lambda)),
      ), // 21, turned round
    };
  }
  return null;
}

/**
 * Great-circle distance on a sphere by the haversine formula (R. W. Sinnott, "Virtues of the haversine", Sky and Telescope 68
 * (1984) 159). On the Earth it is wrong by up to 0.6 %: too much for a speed, enough to place points far apart.
 *
 * @param radiusM default the Earth's mean radius 6 371 008.8 m (H. Moritz, "Geodetic Reference System 1980")
 */
export function greatCircleM(
  latitudeDeg: number,
  longitudeDeg: number,
  toLatitudeDeg: number,
  toLongitudeDeg: number,
  radiusM = 6_371_008.8,
): number {
  const north = Math.sin(radians(toLatitudeDeg - latitudeDeg) / 2);
  const east = Math.sin(radians(toLongitudeDeg - longitudeDeg) / 2);
  const h = north * north + Math.cos(radians(latitudeDeg)) * Math.cos(radians(toLatitudeDeg)) * east * east;
  return 2 * radiusM * Math.asin(Math.sqrt(Math.min(1, h)));
}

function radians(angleDeg: number): number {
  return (angleDeg * Math.PI) / 180;
}

function withinHalfTurn(angleDeg: number): number {
  return Math.abs(angleDeg) <= 180 ? angleDeg : angleDeg - 360 * Math.round(angleDeg / 360);
}

/** Degrees from 0 up to 360. */
function fullTurn(angleRad: number): number {
  const angleDeg = (angleRad * 180) / Math.PI;
  return angleDeg < 0 ? angleDeg + 360 : angleDeg + 0; // + 0: no −0
}

function requirePoint(latitudeDeg: number, longitudeDeg: number): void {
  if (Math.abs(latitudeDeg) <= 90 && Number.isFinite(longitudeDeg)) return;
  throw new RangeError(
    `geodesic: a point needs a latitude within ±90° and a finite longitude, found ${latitudeDeg}° and ${longitudeDeg}°`,
  );
}
