import {type Check, type CheckContext, doubtful, failed, held, notCheckable} from "./check.ts";
import {SLIP_SHARE} from "./gear-ratio.ts";
import {lossWords} from "./lift.ts";
import {channelInPass, type RunView} from "./run-view.ts";
import {anyWords, mostOfArm, percentOf} from "./words.ts";

export const slipCheck: Check = {
  name: "no wheelspin at entry",
  rule: "engine or wheels do not run ahead of the road at band entry, no ignition cut, and no run loses time there against the others",
  threshold: `${percentOf(SLIP_SHARE)} beyond the day's runs, and 5 robust standard deviations; for lost time as under “no lift or brake inside”`,
  judge(context) {
    const {used, engine, wheels} = context;
    const slips = new Map<RunView, string>();
    for (const [source, words] of [
      [engine, "engine speed"],
      [wheels, "wheel speed"],
    ] as const) {
      for (const {view, slipShare} of source.runs) {
        if (slipShare === 0) continue;
        slips.set(view, `run ${view.run} with ${words} ${(100 * slipShare).toFixed(0)} % ahead of the road`);
      }
    }
    for (const view of used) {
      if (channelInPass(view, "ignition-cut")?.values.some(value => value > 0))
        slips.set(view, `run ${view.run} with ignition cut within the band`);
    }
    const seen = slips.size;
    for (const loss of context.pace?.losses ?? []) {
      if (loss.atEntry && !slips.has(loss.view)) slips.set(loss.view, lossWords(loss, context));
    }
    if (slips.size > 0) {
      const words = `slip or late power at entry: ${[...slips.values()].join("; ")}`;
      const most = mostOfArm([...slips.keys()], used);
      return seen > 0 && most.length > 0
        ? failed(`${words}: most of the ${most.join(" and ")} runs`)
        : doubtful(words);
    }
    const blind = used.filter(view => engine.missing.includes(view) && wheels.missing.includes(view));
    if (blind.length > 0) return notCheckable(blindWords(blind, context));
    return held("neither engine nor wheels run ahead of the road at entry");
  },
};

function blindWords(blind: readonly RunView[], {pace, used}: CheckContext): string {
  const words = `neither engine speed nor wheel speed is logged for ${anyWords(blind, used)}`;
  return pace ? `${words}; no run loses time at entry against the others` : words;
}
