import type {Guess} from "../../result/log.ts";
import {median} from "../../stats/quantile.ts";
import {fromSI} from "../../units/unit.ts";
import {speedFromPositions} from "../derived-speed.ts";
import type {PointColumn, TrackPoints} from "./points.ts";

/** Units in use; the nearest two, kn and mph, are 15 % apart. */
const CANDIDATES = ["m/s", "km/h", "mph", "kn"];
/** Median ratio to the speed from positions that still speaks for a unit. */
const TOLERANCE = 0.06;
/** Slower than this the scatter of positions outweighs the speed [m/s]. */
const MOVING_MPS = 3;
const MIN_POINTS = 5;

/**
 * Unit of a speed element. GPX 1.0 says m/s and extensions say nothing; both are held against the speed from positions,
 * and what that shows is noted in `guesses`.
 */
export function speedUnit(points: TrackPoints, column: PointColumn, guesses: Guess[]): string {
  const own = column.prefix === null;
  const what = `unit of "${column.name}"`;
  const ratio = ratioToPositions(points, column.values);
  const unit = CANDIDATES.find(
    candidate => ratio !== null && Math.abs(ratio / fromSI(1, candidate) - 1) < TOLERANCE,
  );
  if (unit === undefined) {
    if (!own || ratio !== null)
      guesses.push({what, chosen: "m/s, which the positions do not confirm", confidence: "weak"});
    return "m/s";
  }
  const times = `${ratio!.toPrecision(3)} times the speed from positions in m/s`;
  if (unit !== "m/s") guesses.push({what, chosen: `${unit}: it is ${times}`, confidence: "likely"});
  else if (!own) guesses.push({what, chosen: `m/s: it is ${times}`, confidence: "sure"});
  return unit;
}

/** Median of the written speed over the speed from positions, or null where too few points tell. */
function ratioToPositions(
  {times, latitudeDeg, longitudeDeg, segment}: TrackPoints,
  speed: number[],
): number | null {
  const zero = times.find(time => time !== null)?.midnightS ?? 0;
  const seconds = times.map(time => (time ? time.midnightS - zero + time.clockS : Number.NaN));
  const rows: number[] = [];
  for (const [i, at] of seconds.entries())
    if (at > (rows.length > 0 ? seconds[rows[rows.length - 1]] : Number.NEGATIVE_INFINITY)) rows.push(i);
  const pick = (values: number[]) => rows.map(i => values[i]);
  const {speedMps} = speedFromPositions(pick(seconds), pick(latitudeDeg), pick(longitudeDeg), {
    segment: pick(segment),
  });
  const ratios = rows.flatMap((row, k) =>
    speedMps[k] > MOVING_MPS && speed[row] > 0 ? [speed[row] / speedMps[k]] : [],
  );
  return ratios.length < MIN_POINTS ? null : median(ratios);
}
