import type {SimulatedRoad} from "./scenario.ts";

/** Mean Earth radius [m] (IUGG); a kilometre of road is laid out flat with it. */
const EARTH_RADIUS_M = 6_371_009;
const RADIAN = Math.PI / 180;

/** Direction on the road: "out" is the one of growing places. */
export type Direction = "out" | "back";

/** Height above sea level at a place of the road [m]. */
export function roadHeightM(road: SimulatedRoad, placeM: number): number {
  let height = road.heightM + road.grade * placeM;
  for (const {amplitudeM, lengthM, crestM} of road.waves)
    height += amplitudeM * Math.cos((2 * Math.PI * (placeM - crestM)) / lengthM);
  return height;
}

/** Grade at a place, positive uphill on the way out: the derivative of the height. */
export function roadGrade(road: SimulatedRoad, placeM: number): number {
  let grade = road.grade;
  for (const {amplitudeM, lengthM, crestM} of road.waves) {
    const turn = (2 * Math.PI) / lengthM;
    grade -= amplitudeM * turn * Math.sin(turn * (placeM - crestM));
  }
  return grade;
}

/** Place reached after a distance in a direction, from where the roll-in starts [m]. */
export function placeM(road: SimulatedRoad, direction: Direction, distanceM: number): number {
  return road.startM[direction] + signOf(direction) * distanceM;
}

/** +1 on the way out, −1 on the way back: turns grade and wind of the road into those of the car. */
export function signOf(direction: Direction): 1 | -1 {
  return direction === "out" ? 1 : -1;
}

/** Compass course [deg] of a car on the road. */
export function courseDeg(road: SimulatedRoad, direction: Direction): number {
  return direction === "out" ? road.bearingDeg : (road.bearingDeg + 180) % 360;
}

/** Functions from a place on the road, and metres north and east of it, to degrees. */
export function roadPosition(road: SimulatedRoad): {
  latitudeDeg(placeM: number, northM: number): number;
  longitudeDeg(placeM: number, eastM: number): number;
} {
  const metresPerDegree = EARTH_RADIUS_M * RADIAN;
  const north = Math.cos(road.bearingDeg * RADIAN);
  const east = Math.sin(road.bearingDeg * RADIAN);
  const narrow = metresPerDegree * Math.cos(road.latitudeDeg * RADIAN);
  return {
    latitudeDeg: (place, northM) => road.latitudeDeg + (place * north + northM) / metresPerDegree,
    longitudeDeg: (place, eastM) => road.longitudeDeg + (place * east + eastM) / narrow,
  };
}
