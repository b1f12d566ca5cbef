import {median} from "../../stats/quantile.ts";
import {numberFittings} from "../../trial/fittings.ts";
import {ARMS, type Check, type CheckContext, doubtful, type Finding, held, notCheckable} from "./check.ts";

/** Heat of a pull leaves the engine bay in some 10 minutes, so rests that differ by more are felt [min]. */
const REST_MIN = 10;
/** What an engine's management learns of a part, and the part's own heat, settle within some 20 minutes of driving [min]. */
const SINCE_CHANGE_MIN = 20;
/** … or this many times the usual time between runs: where runs are far apart, order alone makes such differences. */
const SPACINGS = 2;

export const restCheck: Check = {
  name: "rest before the run",
  rule: "the time since the last run is alike in both arms",
  threshold: `${REST_MIN} min between the medians of the arms, or ${SPACINGS} times the usual time between runs`,
  judge: context =>
    compareMinutes(context, "time since the last run", REST_MIN, runs =>
      runs.map((run, i) => (i === 0 ? null : run.clockS - runs[i - 1].clockS)),
    ),
};

export const sinceChangeCheck: Check = {
  name: "time since the change of part",
  rule: "the time since the part was last changed is alike in both arms, counted from the last run before the change",
  threshold: `${SINCE_CHANGE_MIN} min between the medians of the arms, or ${SPACINGS} times the usual time between runs`,
  judge: context =>
    compareMinutes(context, "time since the last run with the other part", SINCE_CHANGE_MIN, runs => {
      const fittings = numberFittings(runs.map(run => ({arm: run.arm, refitted: run.refitted})));
      return runs.map((run, i) => {
        let last = i;
        while (last >= 0 && fittings[last] === fittings[i]) last--;
        return last < 0 ? null : run.clockS - runs[last].clockS;
      });
    }),
};

interface TimedRun {
  arm: "baseline" | "changed";
  refitted: boolean;
  clockS: number;
}

/** All runs count for the times, excluded ones too: they heat the engine as well. */
function compareMinutes(
  {day, used}: CheckContext,
  what: string,
  limitMin: number,
  secondsOf: (runs: readonly TimedRun[]) => (number | null)[],
): Finding {
  const runs = day.runs.map(({run, clockS}) => ({arm: run.arm, refitted: run.refitted, clockS}));
  if (runs.some(run => run.clockS === null))
    return notCheckable("the clock time of the runs is neither noted nor logged");
  const seconds = secondsOf(runs as TimedRun[]);
  const entering = new Set(used.map(view => view.loaded.run.run));
  const [baseline, changed] = ARMS.map(arm =>
    day.runs.flatMap(({run}, i) =>
      run.arm === arm && entering.has(run.run) && seconds[i] !== null ? [seconds[i]! / 60] : [],
    ),
  );
  if (baseline.length === 0 || changed.length === 0)
    return notCheckable(`the ${what} is known for one arm only`);
  const [a, b] = [median(baseline), median(changed)];
  const words = `the median ${what} is ${a.toFixed(0)} min in the baseline and ${b.toFixed(0)} min in the changed arm`;
  const spacing = runs.slice(1).map((run, i) => (run.clockS! - runs[i].clockS!) / 60);
  return Math.abs(b - a) > Math.max(limitMin, SPACINGS * median(spacing)) ? doubtful(words) : held(words);
}
