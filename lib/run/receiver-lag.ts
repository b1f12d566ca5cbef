import type {Channel, Log} from "../result/log.ts";
import {smoothedSlope} from "../series/slope.ts";
import {aliasedTerm, leastSquares} from "../stats/least-squares.ts";
import type {Pass} from "./passes.ts";
import {usableChannel} from "./usable-channel.ts";
import {samplesOf, type Witness, witnessAt, witnessOf} from "./witness.ts";

/** Looked at before and behind a pass [s]: the throttle opens before it and closes behind it. */
const AROUND_S = 4;
/** Lags that are tried [s]; those below zero are of the other channel, and no concern here. */
const LAGS_S = Array.from({length: 46}, (_, k) => -0.75 + 0.05 * k);
/**
 * A speed that comes so late [s] is smoothed: receivers that tell each fix for itself are late by up to 0.2 s, most of it their
 * computing.
 */
const LATE_S = 0.3;
/** The lag has to leave at most this share of the squares that no lag leaves, or the trace tells none. */
const EXPLAINED = 0.5;
/** What the best lag leaves [m/s]; more, and the two are not one motion (a change of gear, spinning wheels). */
const LEFT_MPS = 0.4;
/** Samples needed, and the longest step of the other channel [s]. */
const LEAST_SAMPLES = 20;
const STEP_S = 1.5;

/** The pedal is closed when it falls from above the one share of its range to below the other within this time [s]. */
const CLOSING = {fromShare: 0.8, toShare: 0.2, withinS: 0.5};
/** Acceleration changes by at least this where a full pedal is closed [m/s²]. */
const LIFT_MPS2 = 0.7;
/** From the closed pedal to half of that change an engine takes 0.3 s at most; so much later [s] it is the receiver (τ > 0.7 s). */
const LIFT_LATE_S = 0.5;

/**
 * True where the receiver's speed follows the car late: behind the wheels or the engine, behind the acceleration measured beside
 * it, or behind a pedal that is let go. Smoothing over τ makes it late by τ; where acceleration changes sharply less than some
 * 3 τ before the band, a pass comes out wrong by up to τ. A delay without smoothing looks the same and does no harm.
 *
 * The lag is the one that leaves the least squares of v(t) − s·w(t − lag), w being wheel or engine speed, or of
 * v(t) − (c₀ + c₁ t + s ∫a dt at t − lag), in which c₁ takes up what grade and zero error add to an acceleration sensor.
 */
export function isReceiverLate(log: Log, speed: Channel, pass: Pass): boolean {
  const fromS = pass.startS - AROUND_S;
  const toS = pass.startS + pass.elapsedS + AROUND_S;
  const beside = (name: string, samples = witnessOf): Witness | null => {
    const channel = usableChannel(log, name);
    return channel && channel !== speed ? samples(log, channel, fromS - 1, toS + 1) : null;
  };
  const speeds = ["vehicle-speed", "engine-speed"].flatMap(name => beside(name) ?? []);
  const acceleration = beside("acceleration");
  const pedal = beside("pedal", samplesOf) ?? beside("throttle", samplesOf);
  if (speeds.length === 0 && !acceleration && !pedal) return false;
  const trace = witnessOf(log, speed, fromS, toS);
  if (trace.timeS.length < LEAST_SAMPLES) return false;
  for (const other of speeds) {
    const lagS = lag(trace, other, false);
    if (lagS !== null) return lagS >= LATE_S; // the first that tells anything settles it
  }
  const byAcceleration = acceleration ? lag(trace, integrated(acceleration), true) : null;
  if (byAcceleration !== null) return byAcceleration >= LATE_S;
  return pedal !== null && isLateAfterLift(trace, pedal);
}

/** Lag of a speed behind another measure of it [s], or null where the two tell none. */
function lag(trace: Witness, other: Witness, drifts: boolean): number | null {
  if (other.timeS.length < LEAST_SAMPLES / 2) return null;
  const most = LAGS_S[LAGS_S.length - 1];
  const rows = [...trace.timeS.keys()].filter(i =>
    [LAGS_S[0], 0, most].every(lagS => Number.isFinite(witnessAt(other, trace.timeS[i] - lagS, STEP_S))),
  );
  if (rows.length < LEAST_SAMPLES) return null;
  const speed = rows.map(i => trace.values[i]);
  const ones = rows.map(() => 1);
  const times = rows.map(i => trace.timeS[i] - trace.timeS[rows[0]]);
  const left = LAGS_S.map(lagS => {
    const values = rows.map(i => witnessAt(other, trace.timeS[i] - lagS, STEP_S));
    const terms = [
      ...(drifts
        ? [
            {name: "offset", values: ones},
            {name: "drift", values: times},
          ]
        : []),
      {name: "other", values},
    ];
    if (!values.every(Number.isFinite) || aliasedTerm(terms) !== null) return Number.POSITIVE_INFINITY;
    return leastSquares(speed, terms).residuals.reduce((sum, residual) => sum + residual * residual, 0);
  });
  const best = left.indexOf(Math.min(...left));
  if (Math.sqrt(left[best] / rows.length) > LEFT_MPS || best === LAGS_S.length - 1 || best === 0) return null;
  const none = left[LAGS_S.findIndex(lagS => Math.abs(lagS) < 1e-9)];
  return left[best] <= EXPLAINED * none ? LAGS_S[best] : 0;
}

/** Integral of an acceleration from its first sample on. */
function integrated({timeS, values}: Witness): Witness {
  const sum = new Float64Array(values.length);
  for (let i = 1; i < values.length; i++) {
    sum[i] = sum[i - 1] + ((values[i] + values[i - 1]) / 2) * (timeS[i] - timeS[i - 1]);
  }
  return {timeS, values: sum};
}

function isLateAfterLift({timeS, values}: Witness, pedal: Witness): boolean {
  const closedS = closingTime(pedal);
  if (closedS === null) return false;
  const slope = smoothedSlope(timeS, values, 0.2);
  const mean = (fromS: number, toS: number) => {
    const inside = slope.filter((_, i) => timeS[i] >= fromS && timeS[i] <= toS);
    return inside.length === 0 ? Number.NaN : inside.reduce((sum, value) => sum + value, 0) / inside.length;
  };
  const before = mean(closedS - 0.8, closedS - 0.3);
  const after = mean(closedS + 1.2, closedS + 2.5);
  if (!(before - after >= LIFT_MPS2)) return false;
  const half = timeS.findIndex((at, i) => at > closedS && slope[i] < (before + after) / 2);
  return half >= 0 && timeS[half] - closedS > LIFT_LATE_S;
}

/** Time at which a pedal is let go at once, or null. */
function closingTime({timeS, values}: Witness): number | null {
  const high = Math.max(...values);
  const low = Math.min(...values);
  const level = (share: number) => low + share * (high - low);
  for (let i = 1; i < values.length; i++) {
    if (!(values[i] <= level(CLOSING.toShare) && values[i - 1] > level(CLOSING.toShare))) continue;
    for (let k = i - 1; k >= 0 && timeS[i] - timeS[k] <= CLOSING.withinS; k--) {
      if (values[k] >= level(CLOSING.fromShare)) return (timeS[i] + timeS[k]) / 2;
    }
  }
  return null;
}
