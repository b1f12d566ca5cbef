import {requireChannel} from "../../log/channel.ts";
import {DERIVED_SPEED_COLUMN} from "../../log/derived-speed.ts";
import type {Flag} from "../../result/log.ts";
import {type Check, doubtful, failed, held} from "./check.ts";
import {type RunView, rowStepS} from "./run-view.ts";
import {percentOf, runsWords} from "./words.ts";

/** Recorders whose median steps differ by more than this share do not run at the same setting. */
const RATE_SHARE = 0.1;
/** Flags that tell of the recorder, not of a moment in a run. */
export const RECORDER_FLAGS: readonly Flag[] = [
  "coarse-time",
  "coarse-speed",
  "held-samples",
  "derived-speed",
  "receiver-smoothing",
];

export const sourceCheck: Check = {
  name: "same speed source",
  rule: "the speed of every run is from the same kind of sensor and the same column: a wheel and a satellite differ by more than parts do",
  judge({used}) {
    const sources = groupBy(used, sourceOf);
    if (sources.size === 1) return held(`the speed of every run is ${[...sources.keys()][0]}`);
    return failed(`mixed speed sources: ${listed(sources)}`);
  },
};

export const recorderCheck: Check = {
  name: "same recorder",
  rule: "log format, sample step and what the recorder does to speed are the same in every run",
  threshold: `median steps within ${percentOf(RATE_SHARE)}`,
  judge({used}) {
    const formats = groupBy(used, view => view.loaded.log.format);
    if (formats.size > 1)
      return apart(`runs come from different recorders: ${listed(formats)}`, formats, used);
    const step = new Map(used.map(view => [view, rowStepS(view)]));
    const shortest = Math.min(...step.values());
    const rates = groupBy(used, view =>
      step.get(view)! > shortest * (1 + RATE_SHARE) ? "longer steps" : `steps of ${shortest.toFixed(3)} s`,
    );
    if (rates.size > 1) {
      const longest = Math.max(...step.values());
      return apart(
        `sample steps differ between runs, ${shortest.toFixed(3)} to ${longest.toFixed(3)} s: ${listed(rates)}`,
        rates,
        used,
      );
    }
    for (const flag of RECORDER_FLAGS) {
      const flagged = used.filter(view => view.loaded.pass!.flags.includes(flag));
      // A recorder does it to every run; a mark that comes and goes with the noise is no other recorder.
      if (flagged.length === 0 || flagged.length === used.length || !splitsArms(flagged, used)) continue;
      return doubtful(`speed is ${flag} in ${runsWords(flagged)} only, all of one arm`);
    }
    const shared = RECORDER_FLAGS.filter(flag => used.every(view => view.loaded.pass!.flags.includes(flag)));
    const words = shared.length > 0 ? `; every run alike: ${shared.join(", ")}` : "";
    return held(`${[...formats.keys()][0]} with a step of ${shortest.toFixed(3)} s in every run${words}`);
  },
};

/** Kind and column of a run's speed in words; the unit and the way of writing do not count. */
function sourceOf({loaded: {log}}: RunView): string {
  const {column} = requireChannel(log, "speed");
  if (column === DERIVED_SPEED_COLUMN) return "computed from positions";
  const own = log.guesses.some(guess => guess.what === "speed" && guess.chosen.startsWith("the car's own"));
  const name = column
    .replace(/[[({<].*$/, "")
    .replace(/[_\s]+/g, " ")
    .trim()
    .toLowerCase();
  return `${own ? "the car's own, " : ""}from column "${name || column}"`;
}

function apart(words: string, groups: Map<string, RunView[]>, used: readonly RunView[]) {
  return [...groups.values()].some(views => splitsArms(views, used))
    ? failed(`${words}; it changes with the arm`)
    : doubtful(words);
}

/** True where these runs are exactly those of one arm. */
function splitsArms(some: readonly RunView[], all: readonly RunView[]): boolean {
  return (
    new Set(some.map(view => view.arm)).size === 1 &&
    some.length === all.filter(view => view.arm === some[0].arm).length &&
    some.length < all.length
  );
}

function groupBy(used: readonly RunView[], keyOf: (view: RunView) => string): Map<string, RunView[]> {
  const groups = new Map<string, RunView[]>();
  for (const view of used) groups.set(keyOf(view), [...(groups.get(keyOf(view)) ?? []), view]);
  return groups;
}

function listed(groups: Map<string, RunView[]>): string {
  return [...groups].map(([name, views]) => `${name} (${runsWords(views)})`).join("; ");
}
