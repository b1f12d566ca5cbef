import {geodesic} from "../log/geodesic.ts";
import type {Log} from "../result/log.ts";
import {usableChannel} from "./usable-channel.ts";

/** Below this speed [m/s] a receiver's course points anywhere. */
const ROLLING_MPS = 3;
/** Length of the mean of the unit vectors of course: below it the road bends by more than some 60° and has no one heading. */
const STRAIGHT = 0.9;
/** Positions closer than this [m] give no heading: the scatter of a fix is some metres. */
const FAR_M = 30;
/** Headings that differ by less than this [deg] belong to the same road: half of a right angle. */
const SAME_ROAD_DEG = 45;

/**
 * Mean heading of a stretch of a log, clockwise from north [deg, 0 ≤ h < 360]: the mean of its course, or else the line from its
 * first to its last position.
 *
 * @param first index of the first sample
 * @param end   index after the last one
 * @returns null where neither is logged, the car hardly moves or the road bends
 */
export function headingDeg(
  log: Log,
  speedMps: Float64Array,
  {first, end}: {first: number; end: number},
): number | null {
  const course = angles(log, "course");
  if (course) {
    let [north, east, count] = [0, 0, 0];
    for (let i = first; i < end; i++) {
      if (!(speedMps[i] > ROLLING_MPS && Number.isFinite(course[i]))) continue;
      north += Math.cos((course[i] * Math.PI) / 180);
      east += Math.sin((course[i] * Math.PI) / 180);
      count++;
    }
    if (count > 0) {
      return Math.hypot(north, east) / count < STRAIGHT
        ? null
        : wholeTurn((Math.atan2(east, north) * 180) / Math.PI);
    }
  }
  const [latitude, longitude] = [angles(log, "latitude"), angles(log, "longitude")];
  if (!latitude || !longitude) return null;
  const known = (i: number) => Math.abs(latitude[i]) <= 90 && Number.isFinite(longitude[i]);
  let [from, to] = [first, end - 1];
  while (from < to && !known(from)) from++;
  while (to > from && !known(to)) to--;
  if (from >= to) return null;
  const line = geodesic(latitude[from], longitude[from], latitude[to], longitude[to]);
  return line && line.distanceM >= FAR_M ? line.azimuthDeg : null;
}

/**
 * Which way along one road each run went. The road is the axis that most headings share; out is the way of the first run on it.
 *
 * @param headings one a run in the order driven [deg], null = not known
 * @returns "out", "back", or null where the heading is not known or of another road; `outDeg` is the heading of out, null where
 *   no heading is known
 */
export function directionsByHeading(headings: readonly (number | null)[]): {
  directions: ("out" | "back" | null)[];
  outDeg: number | null;
} {
  const known = headings.filter(heading => heading !== null);
  if (known.length === 0) return {directions: headings.map(() => null), outDeg: null};
  const alongAxis = (axis: number) => known.filter(heading => offAxisDeg(heading, axis) < SAME_ROAD_DEG);
  const best = known.reduce((a, b) => (alongAxis(b).length > alongAxis(a).length ? b : a));
  const first = alongAxis(best)[0];
  // mean of the doubled angles: both ways of a road are one axis
  const doubled = alongAxis(best).map(heading => (2 * heading * Math.PI) / 180);
  const sum = (of: (angle: number) => number) => doubled.reduce((total, angle) => total + of(angle), 0);
  const axis = (Math.atan2(sum(Math.sin), sum(Math.cos)) * 90) / Math.PI;
  const outDeg = wholeTurn(apartDeg(axis, first) <= 90 ? axis : axis + 180);
  return {directions: headings.map(heading => directionOf(heading, outDeg)), outDeg};
}

/** Which way a heading goes along a road whose way out is known, or null for another road. */
export function directionOf(headingDeg: number | null, outDeg: number): "out" | "back" | null {
  if (headingDeg === null || offAxisDeg(headingDeg, outDeg) >= SAME_ROAD_DEG) return null;
  return apartDeg(headingDeg, outDeg) < 90 ? "out" : "back";
}

/** Angle between two headings, 0 … 180°. */
function apartDeg(a: number, b: number): number {
  const turn = wholeTurn(a - b);
  return Math.min(turn, 360 - turn);
}

/** Angle between a heading and an axis, 0 … 90°. */
function offAxisDeg(heading: number, axis: number): number {
  const apart = apartDeg(heading, axis);
  return Math.min(apart, 180 - apart);
}

function wholeTurn(angleDeg: number): number {
  const turn = ((angleDeg % 360) + 360) % 360;
  return turn === 360 ? 0 : turn;
}

function angles(log: Log, name: string): Float64Array | null {
  return usableChannel(log, name)?.values ?? null;
}
