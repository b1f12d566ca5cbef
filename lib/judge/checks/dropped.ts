import type {ArmName} from "../../result/session.ts";
import {type Check, doubtful, held} from "./check.ts";

/** Regulation 154 (WLTP) lets at most a third of the pairs be dropped, by a rule stated before. */
const MOST_DROPPED_SHARE = 1 / 3;
/** One run more in one arm than in the other can be chance; two begin to be a choice. */
const UNEVEN_RUNS = 1;

export const droppedCheck: Check = {
  name: "dropped runs",
  rule: "at most a third of an arm is dropped, about as many in both, and none after its result was known",
  threshold: `one third of an arm, ${UNEVEN_RUNS} run more in one than in the other`,
  source: "at most a third of the pairs dropped, by rule: WLTP (Regulation 154)",
  judge({day}) {
    const dropped = (arm: ArmName) => {
      const runs = day.runs.filter(run => run.run.arm === arm);
      return {out: runs.filter(run => run.run.exclude !== null || !run.pass).length, of: runs.length};
    };
    const [baseline, changed] = [dropped("baseline"), dropped("changed")];
    const words = `${baseline.out} of ${baseline.of} baseline and ${changed.out} of ${changed.of} changed runs were dropped`;
    const known = day.runs.filter(run => run.run.excludedBefore === "result known");
    if (known.length > 0) return doubtful(`${words}, ${known.length} of them after the result was known`);
    const tooMany = [baseline, changed].some(({out, of}) => out > MOST_DROPPED_SHARE * of);
    if (tooMany) return doubtful(`${words}: more than a third of an arm`);
    const uneven = Math.abs(baseline.out - changed.out) > UNEVEN_RUNS;
    return uneven ? doubtful(`${words}: more in one arm than in the other`) : held(words);
  },
};
