import {median} from "../../stats/quantile.ts";
import {type Check, type CheckContext, doubtful, failed, held, notCheckable} from "./check.ts";
import {onsetsOfAcceleration} from "./onset.ts";
import {channelInPass, type RunView, signOfBand} from "./run-view.ts";
import {anyWords, mostOfArm, percentOf, speedWords} from "./words.ts";

/** Full throttle is asked for from this long before band entry, so that charge pressure and gearbox have settled [s]. */
const LEAD_S = 0.5;
/** Told by acceleration, this much of it is allowed to the engine, which takes so long to follow the foot [s]. */
const FOLLOWS_S = 0.2;
/** A throttle or pedal counts as open from this share of its usual full reading: plates stop short of 100 % and flutter. */
const OPEN_SHARE = 0.9;
/** A day whose largest reading is below this was driven without full throttle. */
const EVER_OPEN = 0.6;
/** Out of a dip this short a single sample is the sensor's [s]. */
const LAPSE_S = 0.15;
/** Band entry is known to about so much [s]: noise of speed over acceleration. */
const ENTRY_S = 0.07;
/** The driver lifts when the display shows the end of the band, which a receiver's smoothing may put so much earlier in the log [s]. */
const TAIL_S = 0.2;

/** What was found wrong with the throttle of one run. */
interface Fault {
  view: RunView;
  words: string;
}

export const throttleCheck: Check = {
  name: "full throttle",
  rule: "throttle or pedal fully open from 0.5 s before band entry to the end of the band; where neither is logged, a pull's acceleration from then on",
  threshold: `${LEAD_S} s before entry (${LEAD_S - FOLLOWS_S} s told by acceleration); open from ${percentOf(OPEN_SHARE)} of the usual full reading`,
  judge(context) {
    const {used, day} = context;
    if (signOfBand(day.session.band) < 0)
      return notCheckable("the band falls: a coastdown has no throttle to look at");
    const readings = new Map(used.map(view => [view, pedalIn(view)]));
    const peaks = [...readings.values()].flatMap(reading => (reading ? [largestHeld(reading.values)] : []));
    const full = peaks.length > 0 ? median(peaks) : 0;
    const onsets = onsetsOfAcceleration(used, day.session.band);
    const faults: Fault[] = [];
    const untold: RunView[] = [];
    let byChannel = 0;
    for (const [i, view] of used.entries()) {
      const reading = readings.get(view);
      if (reading && full > 0) {
        byChannel++;
        const words = openWords(view, reading, full, context);
        if (words) faults.push({view, words});
      } else if (isUntold(view, onsets[i])) untold.push(view);
      else if (onsets[i]! > FOLLOWS_S - LEAD_S) {
        faults.push({view, words: onsetWords(view, onsets[i]!, context)});
      }
    }
    const told =
      byChannel === used.length
        ? "by throttle or pedal"
        : byChannel === 0
          ? "by acceleration alone"
          : "by throttle or pedal where it is logged, else by acceleration";
    if (byChannel > 0 && full < EVER_OPEN) {
      return doubtful(
        `throttle or pedal never reads more than ${percent(full)}: driven without full throttle, or its full reading is not 100 %`,
      );
    }
    if (faults.length > 0) {
      const words = `part throttle: ${faults.map(fault => fault.words).join("; ")}`;
      const most = mostOfArm(
        faults.map(fault => fault.view),
        used,
      );
      // Acceleration alone cannot tell an engine that is slow to follow in every run from a late foot in every run.
      const sure = byChannel > 0 || most.length === 1;
      return most.length > 0 && sure
        ? failed(`${words}: most of the ${most.join(" and ")} runs`)
        : doubtful(words);
    }
    if (untold.length > 0) {
      return notCheckable(
        `no throttle or pedal was logged, and before band entry the log is too short to tell it by acceleration in ${anyWords(untold, used)}`,
      );
    }
    return held(
      `open from ${byChannel === used.length ? LEAD_S : LEAD_S - FOLLOWS_S} s before the band to its end in every run (told ${told})`,
    );
  },
};

/** The foot before the plate, which boost and traction control move on their own. */
function pedalIn(view: RunView): {timeS: Float64Array; values: Float64Array} | null {
  return channelInPass(view, "pedal", LEAD_S) ?? channelInPass(view, "throttle", LEAD_S);
}

/** Largest value held for two samples, so that a wild one does not move it. */
function largestHeld(values: Float64Array): number {
  let largest = 0;
  let before = Number.NaN;
  for (const value of values) {
    if (!Number.isFinite(value)) continue;
    largest = Math.max(largest, Math.min(before, value) || 0);
    before = value;
  }
  return largest;
}

/** An onset before the log's first sample tells enough only where that is early enough. */
function isUntold({timeS, startS}: RunView, onsetS: number | null): boolean {
  return onsetS === null || (onsetS === Number.NEGATIVE_INFINITY && timeS[0] - startS > FOLLOWS_S - LEAD_S);
}

function openWords(
  view: RunView,
  {timeS, values}: {timeS: Float64Array; values: Float64Array},
  full: number,
  {day}: CheckContext,
): string | null {
  const part = (i: number) => values[i] < OPEN_SHARE * full;
  const fromS = view.startS - LEAD_S + ENTRY_S;
  const known = [...timeS.keys()].filter(
    i => Number.isFinite(values[i]) && timeS[i] >= fromS && timeS[i] <= view.endS - TAIL_S,
  );
  const closed = known.filter((i, k) => {
    if (!part(i)) return false;
    const [before, after] = [known[k - 1], known[k + 1]];
    const alone = before !== undefined && after !== undefined && !part(before) && !part(after);
    return !(alone && timeS[after] - timeS[before] < 2 * LAPSE_S);
  });
  if (closed.length === 0) return null;
  const lowest = Math.min(...closed.map(i => values[i]));
  const last = closed[closed.length - 1];
  const lead = known[0] === closed[0] && known.indexOf(last) === closed.length - 1;
  if (lead) {
    const after = timeS[last] - view.startS;
    return `run ${view.run} opens late, still at ${percent(lowest)} ${Math.abs(after).toFixed(1)} s ${after < 0 ? "before" : "after"} band entry`;
  }
  return `run ${view.run} lifts to ${percent(lowest)} at ${speedWords(speedNear(view, timeS[closed[0]]), day.session.band)}`;
}

function onsetWords(view: RunView, onsetS: number, {day}: CheckContext): string {
  const entry = speedWords(day.session.band.fromMps, day.session.band);
  return `run ${view.run} opens late: it accelerates as a pull does only from ${Math.abs(onsetS).toFixed(1)} s ${onsetS < 0 ? "before" : "after"} ${entry}`;
}

function speedNear({timeS, speedMps}: RunView, atS: number): number {
  let best = 0;
  for (let i = 1; i < timeS.length; i++) if (Math.abs(timeS[i] - atS) < Math.abs(timeS[best] - atS)) best = i;
  return speedMps[best];
}

function percent(share: number): string {
  return `${(100 * share).toFixed(0)} %`;
}
