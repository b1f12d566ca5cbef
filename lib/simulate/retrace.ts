import type {LoggedChannels} from "./logger.ts";

/** What is different when a run is driven again. */
export interface Course {
  /** acceleration over that of the run as it was, by speed; default 1 */
  pullShare?: (speedMps: number) => number;
  /** the throttle closes at this speed for so long, and the car slows down meanwhile */
  lift?: {atMps: number; forS: number; slowingMps2: number};
}

/** A run driven again. */
export interface Retraced {
  log: LoggedChannels;
  /** speed without the noise of the log, at its samples [m/s] */
  smoothMps: Float64Array;
  /** what the foot does at each sample; "part" = pulling at less than half of the acceleration */
  phase: ("roll-in" | "part" | "pull" | "lifted")[];
}

/** Half the window over which the logged speed is smoothed into the course that is driven again [s]. */
const SMOOTH_S = 0.3;
/** Steps in which a course is followed between two samples. */
const STEPS = 20;
/** Acceleration counts as pulling from this share of its largest. */
const PULLING_SHARE = 0.25;
const PART_SHARE = 0.5;

/**
 * Drives the course of a logged run again with its acceleration changed: the logged speed is taken as noise about a smooth course, the
 * course is followed faster or slower, and the noise is put back sample by sample. Positions and height go with the distance.
 *
 * What it cannot do: the smooth course rounds corners by `SMOOTH_S`, and gusts stay at the speed where they were, not at the time.
 */
export function retrace(run: LoggedChannels, {pullShare = () => 1, lift}: Course): Retraced {
  const {timeS} = run;
  const n = timeS.length;
  const smooth = smoothed(run);
  const stepS = (timeS[n - 1] - timeS[0]) / (n - 1);
  const course = (at: number) => valueAt(smooth, (at - timeS[0]) / stepS);
  const slopes = smooth.map(
    (_, i) => (smooth[Math.min(n - 1, i + 1)] - smooth[Math.max(0, i - 1)]) / (2 * stepS),
  );
  const largest = Math.max(...slopes);
  const top = smooth.indexOf(Math.max(...smooth));
  const startsAt = timeS[slopes.findIndex(slope => slope > PULLING_SHARE * largest)];

  const speeds: number[] = [smooth[0]];
  const phase: Retraced["phase"] = ["roll-in"];
  let at = timeS[0];
  let liftedS = 0;
  let speed = smooth[0];
  while (at < timeS[n - 1] - stepS / 2) {
    let now: Retraced["phase"][number] = "roll-in";
    for (let k = 0; k < STEPS; k++) {
      const dt = stepS / STEPS;
      if (lift && liftedS < lift.forS && (liftedS > 0 || speed >= lift.atMps)) {
        liftedS += dt;
        speed -= lift.slowingMps2 * dt;
        now = "lifted";
        if (liftedS >= lift.forS) at = timeReaching(smooth, timeS, startsAt, speed);
        continue;
      }
      const pulling = at >= startsAt && at < timeS[top];
      const share = pulling ? pullShare(speed) : 1;
      at += dt * share;
      speed = course(at);
      now = at >= timeS[top] ? "lifted" : !pulling ? "roll-in" : share < PART_SHARE ? "part" : "pull";
    }
    speeds.push(speed);
    phase.push(now);
  }
  const reach = Math.ceil(SMOOTH_S / stepS) + 1;
  const first = timeS.indexOf(startsAt) + reach;
  const straight = {first, end: Math.max(first + 2, top - reach)};
  return {
    log: relogged(run, smooth, speeds, straight),
    smoothMps: Float64Array.from(speeds),
    phase,
  };
}

/** The log of new speeds with the errors of the old one. */
function relogged(
  run: LoggedChannels,
  smooth: Float64Array,
  speeds: readonly number[],
  straight: {first: number; end: number},
): LoggedChannels {
  const n = run.timeS.length;
  const stepS = (run.timeS[n - 1] - run.timeS[0]) / (n - 1);
  const old = distances(smooth, stepS);
  const now = distances(speeds, stepS);
  const length = speeds.length;
  // A longer run needs more errors, and at the corners of the course what is left of smoothing is no error: reflect into the straight part.
  const span = straight.end - straight.first;
  const mirrored = (i: number) => {
    const k = (((i - straight.first) % (2 * span)) + 2 * span) % (2 * span);
    return straight.first + (k < span ? k : 2 * span - 1 - k);
  };
  const alongRoad = (values: Float64Array) => {
    const slope = (values[n - 1] - values[0]) / old[n - 1];
    return Float64Array.from({length}, (_, i) => {
      const j = mirrored(i);
      return values[0] + slope * now[i] + (values[j] - values[0] - slope * old[j]);
    });
  };
  const kept = (values: Float64Array) => Float64Array.from({length}, (_, i) => values[mirrored(i)]);
  return {
    timeS: Float64Array.from({length}, (_, i) => run.timeS[0] + i * stepS),
    speedMps: Float64Array.from(speeds, (speed, i) =>
      Math.max(0, speed + run.speedMps[mirrored(i)] - smooth[mirrored(i)]),
    ),
    heightM: alongRoad(run.heightM),
    latitudeDeg: alongRoad(run.latitudeDeg),
    longitudeDeg: alongRoad(run.longitudeDeg),
    courseDeg: kept(run.courseDeg),
    satellites: kept(run.satellites),
    hdop: kept(run.hdop),
  };
}

/** Straight line by least squares within `SMOOTH_S` of each sample, at least three samples. */
function smoothed({timeS, speedMps}: LoggedChannels): Float64Array {
  const n = timeS.length;
  const reach = Math.max(1, Math.round((SMOOTH_S * (n - 1)) / (timeS[n - 1] - timeS[0])));
  return speedMps.map((_, i) => {
    const half = Math.min(reach, i, n - 1 - i);
    let sum = 0;
    for (let j = i - half; j <= i + half; j++) sum += speedMps[j];
    return sum / (2 * half + 1); // symmetric about i, so the mean is the line's value there
  });
}

function distances(speeds: ArrayLike<number>, stepS: number): Float64Array {
  const distance = new Float64Array(speeds.length);
  for (let i = 1; i < speeds.length; i++)
    distance[i] = distance[i - 1] + ((speeds[i - 1] + speeds[i]) / 2) * stepS;
  return distance;
}

function valueAt(values: Float64Array, place: number): number {
  const i = Math.min(Math.max(0, Math.floor(place)), values.length - 2);
  const share = Math.min(1, Math.max(0, place - i));
  return values[i] + share * (values[i + 1] - values[i]);
}

/** Time at which a course first reaches a speed after it has begun to pull. */
function timeReaching(smooth: Float64Array, timeS: Float64Array, fromS: number, speedMps: number): number {
  const i = Math.max(
    1,
    smooth.findIndex((speed, k) => timeS[k] >= fromS && speed >= speedMps),
  );
  const share = (speedMps - smooth[i - 1]) / (smooth[i] - smooth[i - 1] || 1);
  return timeS[i - 1] + Math.min(1, Math.max(0, share)) * (timeS[i] - timeS[i - 1]);
}
