import type {ArmName} from "../result/session.ts";

/**
 * Numbers the fittings: the runs between two changes of part. A new one starts where the arm changes or a run says
 * `refitted`. Runs of one fitting share whatever went a little differently when the part was put on, so a report
 * counts fittings beside runs.
 *
 * @param runs all runs in the order driven, excluded ones too (the part was on all the same)
 * @returns fitting number of each run, from 1
 */
export function numberFittings(runs: readonly {arm: ArmName; refitted: boolean}[]): number[] {
  let fitting = 0;
  return runs.map((run, i) => {
    if (i === 0 || run.refitted || run.arm !== runs[i - 1].arm) fitting++;
    return fitting;
  });
}
