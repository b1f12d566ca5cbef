import type {RoadProfile} from "./road-profile.ts";

/**
 * Standard uncertainty of the height of a profile about its mean over some places [m]: the error that each run adds to the grade, summed
 * up along the way, then put together as `RoadProfile.varianceOf` does. Degrees of freedom: runs − 1.
 *
 * @param profile of two runs or more
 * @param placesM evenly spaced along the track, closer than the knots [m]
 * @throws {RangeError} the profile rests on one run, which cannot tell its error
 */
export function profileShapeU(profile: RoadProfile, placesM: Float64Array): Float64Array {
  if (profile.runs < 2)
    throw new RangeError("profileShapeU: one run cannot tell how far its profile is wrong; give two or more");
  const sums = new Float64Array(placesM.length);
  for (let run = 0; run < profile.runs; run++) {
    const share = new Float64Array(placesM.length);
    let [before, total] = [0, 0];
    for (const [k, place] of placesM.entries()) {
      const error = profile.gradeWith(run, place) - profile.gradeAt(place);
      if (k > 0) share[k] = share[k - 1] + ((error + before) / 2) * (place - placesM[k - 1]);
      before = error;
      total += share[k];
    }
    for (let k = 0; k < sums.length; k++) sums[k] += (share[k] - total / placesM.length) ** 2;
  }
  return sums.map(sum => Math.sqrt((sum * profile.runs) / (profile.runs - 1)));
}
