import {median} from "../stats/quantile.ts";

/** What a run says of where it was; n values each, NaN = none. */
export interface RunPositions {
  timeS: Float64Array;
  speedMps: Float64Array;
  latitudeDeg: Float64Array | null;
  longitudeDeg: Float64Array | null;
  direction: "out" | "back" | null;
}

/** Where a run was along the common track. */
export interface RunPlace {
  /** +1 = places grow as the run goes on, −1 = they fall */
  sign: 1 | -1;
  /** place of each sample [m], length n; NaN before the first and after the last sample with a speed */
  placeM: Float64Array;
  /** mean distance to the right of the track, seen along growing places [m]; null without positions */
  acrossM: number | null;
  /** why its positions were not used, or null */
  problem: string | null;
}

/** All runs of a day on one axis. */
export interface CommonTrack {
  /** "positions" = projected on one of the runs; "distance" = travelled since `from`, start places taken as alike */
  by: "positions" | "distance";
  places: RunPlace[];
  /** standard uncertainty of a run's place along the track [m], from the scatter across it; null where fewer than 3 runs tell */
  placeUM: number | null;
}

/** WGS 84 (NGA.STND.0036, 2014): half axis [m] and squared eccentricity. */
const HALF_AXIS_M = 6_378_137;
const ECCENTRICITY_2 = 6.694379990141e-3;
const RADIAN = Math.PI / 180;
/** The track is drawn through means of positions over so much way [m]: longer than their scatter, shorter than a bend. */
const BLOCK_M = 20;
/** A car that rolls this fast and does not move has frozen positions … */
const ROLLING_MPS = 3;
/** … after this long [s]: receivers may give positions once a second and hold them. */
const FROZEN_S = 2.5;
/** A run this far beside the track on average drove another road [m]: wider than any two lanes and the scatter of a fix. */
const OTHER_ROAD_M = 25;

/**
 * Puts every run on one axis: positions are projected on the longest run, and a run's place is then its integrated speed, shifted
 * to agree with its positions on average. So place has the precision of speed within a run, and the error of a position from
 * run to run.
 *
 * Positions err alike in all directions, so the scatter of the runs across the track (a driver holds his lane to some
 * decimetres) tells the one along it.
 *
 * @param runs  in the order driven
 * @param fromS time of each run at which distance counts from 0 where there are no positions, such as band entry
 */
export function commonTrack(runs: readonly RunPositions[], fromS: readonly number[]): CommonTrack {
  const distances = runs.map(run => travelledM(run));
  const problems = runs.map(positionProblem);
  const usable = runs.flatMap((_, i) => (problems[i] === null ? [i] : []));
  const byDistance = (): CommonTrack => ({
    by: "distance",
    places: runs.map((run, i) => {
      const start = valueAt(run.timeS, distances[i], fromS[i]);
      const sign = run.direction === "back" ? -1 : 1;
      return {sign, placeM: distances[i].map(d => sign * (d - start)), acrossM: null, problem: problems[i]};
    }),
    placeUM: null,
  });
  if (usable.length < runs.length || runs.length === 0) return byDistance();
  const plane = planeAround(runs[usable[0]]);
  const flat = runs.map(plane);
  const track = trackOf(runs, flat, distances);
  if (track === null) return byDistance();
  const places = runs.map((_, i): RunPlace => {
    const projected = flat[i].map(point => point && project(track, point));
    const known = projected.flatMap((value, row) =>
      value && Number.isFinite(distances[i][row]) ? [{...value, row}] : [],
    );
    const [first, last] = [known[0], known[known.length - 1]];
    const sign = last.alongM >= first.alongM ? 1 : -1;
    const shift = meanOf(known.map(({alongM, row}) => alongM - sign * distances[i][row]));
    const acrossM = meanOf(known.map(({acrossM: value}) => value));
    const other = Math.abs(median(known.map(({acrossM: value}) => value))) > OTHER_ROAD_M;
    return {
      sign,
      placeM: distances[i].map(d => sign * d + shift),
      acrossM,
      problem: other
        ? `it drove another road: on average ${Math.abs(acrossM).toFixed(0)} m beside the others`
        : null,
    };
  });
  nameTurned(runs, places);
  return {by: "positions", places, placeUM: scatterAcross(places)};
}

/** Names runs whose written direction is the other way round than that of most. */
function nameTurned(runs: readonly RunPositions[], places: readonly RunPlace[]): void {
  const agreement = places.map(({sign}, i) =>
    runs[i].direction === null ? 0 : runs[i].direction === "out" ? sign : -sign,
  );
  const most = Math.sign(agreement.reduce((sum, value) => sum + value, 0));
  for (const [i, place] of places.entries())
    if (most !== 0 && agreement[i] === -most)
      place.problem ??= `its direction is written as ${runs[i].direction}, but its positions run the other way`;
}

/** Distance since the first sample with a speed, by the trapezium rule [m]; NaN outside the samples with a speed. */
function travelledM({timeS, speedMps}: RunPositions): Float64Array {
  const distance = new Float64Array(timeS.length).fill(Number.NaN);
  let before = -1;
  for (let i = 0; i < timeS.length; i++) {
    if (!Number.isFinite(speedMps[i])) continue;
    distance[i] =
      before < 0 ? 0 : distance[before] + ((speedMps[i] + speedMps[before]) / 2) * (timeS[i] - timeS[before]);
    before = i;
  }
  return distance;
}

/** Why the positions of a run tell nothing, or null. */
function positionProblem({timeS, speedMps, latitudeDeg, longitudeDeg}: RunPositions): string | null {
  if (!latitudeDeg || !longitudeDeg) return "it has no positions";
  let moved = -1;
  let known = 0;
  for (let i = 0; i < timeS.length; i++) {
    if (!Number.isFinite(latitudeDeg[i]) || !Number.isFinite(longitudeDeg[i])) continue;
    known++;
    if (moved < 0 || latitudeDeg[i] !== latitudeDeg[moved] || longitudeDeg[i] !== longitudeDeg[moved])
      moved = i;
    else if (speedMps[i] > ROLLING_MPS && timeS[i] - timeS[moved] > FROZEN_S)
      return `its positions are frozen from ${timeS[moved].toFixed(1)} s on while the car rolls`;
  }
  return known < 2 ? "it has no positions" : null;
}

type Point = {eastM: number; northM: number};

/** Metres east and north of a point of the first run, on the tangent plane: off by 1e-4 at 10 km. */
function planeAround(run: RunPositions): (run: RunPositions) => (Point | null)[] {
  const at = run.latitudeDeg!.findIndex(
    (value, i) => Number.isFinite(value) && Number.isFinite(run.longitudeDeg![i]),
  );
  const [latitude, longitude] = [run.latitudeDeg![at], run.longitudeDeg![at]];
  const squared = 1 - ECCENTRICITY_2 * Math.sin(latitude * RADIAN) ** 2;
  const perNorth = (RADIAN * HALF_AXIS_M * (1 - ECCENTRICITY_2)) / squared ** 1.5;
  const perEast = (RADIAN * HALF_AXIS_M * Math.cos(latitude * RADIAN)) / Math.sqrt(squared);
  return ({latitudeDeg, longitudeDeg}) =>
    Array.from(latitudeDeg!, (value, i) =>
      Number.isFinite(value) && Number.isFinite(longitudeDeg![i])
        ? {
            northM: (value - latitude) * perNorth,
            eastM: (((longitudeDeg![i] - longitude + 540) % 360) - 180) * perEast,
          }
        : null,
    );
}

interface Track {
  points: Point[];
  /** place of each point [m] */
  alongM: number[];
}

/** A line through the longest run whose road most runs share; null where none moves. */
function trackOf(
  runs: readonly RunPositions[],
  flat: readonly (Point | null)[][],
  distances: readonly Float64Array[],
): Track | null {
  const length = (i: number) => distances[i].reduce((most, d) => Math.max(most, d || 0), 0);
  const candidates = runs.map((_, i) => i).sort((a, b) => length(b) - length(a));
  const middles = flat.map(points => points[points.length >> 1]);
  let first: Track | null = null;
  for (const candidate of candidates) {
    const track = lineThrough(flat[candidate], distances[candidate]);
    if (track === null) continue;
    first ??= track;
    const near = middles.filter(point => point && Math.abs(project(track, point).acrossM) <= OTHER_ROAD_M);
    if (2 * near.length > runs.length) return track;
  }
  return first;
}

/** A line through means of a run's positions, block by block; null where it does not move. */
function lineThrough(flat: readonly (Point | null)[], distances: Float64Array): Track | null {
  const blocks = new Map<number, Point & {count: number}>();
  flat.forEach((point, row) => {
    const distance = distances[row];
    if (!point || !Number.isFinite(distance)) return;
    const key = Math.floor(distance / BLOCK_M);
    const block = blocks.get(key) ?? {eastM: 0, northM: 0, count: 0};
    block.eastM += point.eastM;
    block.northM += point.northM;
    block.count++;
    blocks.set(key, block);
  });
  const points = [...blocks]
    .sort(([a], [b]) => a - b)
    .map(([, {eastM, northM, count}]) => ({eastM: eastM / count, northM: northM / count}));
  if (points.length < 2) return null;
  const alongM = [0];
  for (let k = 1; k < points.length; k++)
    alongM.push(
      alongM[k - 1] +
        Math.hypot(points[k].eastM - points[k - 1].eastM, points[k].northM - points[k - 1].northM),
    );
  return {points, alongM};
}

/** Place along and distance to the right of the track; beyond its ends the first and last piece go on straight. */
function project({points, alongM}: Track, {eastM, northM}: Point): {alongM: number; acrossM: number} {
  let best = {alongM: 0, acrossM: 0, distance: Number.POSITIVE_INFINITY};
  for (let k = 0; k + 1 < points.length; k++) {
    const [east, north] = [points[k + 1].eastM - points[k].eastM, points[k + 1].northM - points[k].northM];
    const length = Math.hypot(east, north);
    if (length === 0) continue;
    const [x, y] = [eastM - points[k].eastM, northM - points[k].northM];
    let along = (x * east + y * north) / length;
    if (k > 0) along = Math.max(0, along);
    if (k + 2 < points.length) along = Math.min(length, along);
    const acrossM = (x * north - y * east) / length;
    const distance = Math.hypot(x - (along * east) / length, y - (along * north) / length);
    if (distance < best.distance) best = {alongM: alongM[k] + along, acrossM, distance};
  }
  return best;
}

/** Spread of the runs' mean distance across the track within each direction [m]: lanes differ, runs of one lane do not. */
function scatterAcross(places: readonly RunPlace[]): number | null {
  let [squares, df] = [0, 0];
  for (const sign of [1, -1]) {
    const group = places
      .filter(place => place.sign === sign && place.problem === null)
      .map(place => place.acrossM!);
    if (group.length < 2) continue;
    const middle = meanOf(group);
    squares += group.reduce((sum, value) => sum + (value - middle) ** 2, 0);
    df += group.length - 1;
  }
  return df >= 2 ? Math.sqrt(squares / df) : null;
}

function meanOf(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}

/** Value at a time between samples, of a series that may start or end with NaN. */
function valueAt(timeS: Float64Array, values: Float64Array, atS: number): number {
  const next = timeS.findIndex((time, i) => time >= atS && Number.isFinite(values[i]));
  if (next < 0) return 0;
  if (next === 0 || !Number.isFinite(values[next - 1])) return values[next];
  const share = (atS - timeS[next - 1]) / (timeS[next] - timeS[next - 1]);
  return values[next - 1] + share * (values[next] - values[next - 1]);
}
