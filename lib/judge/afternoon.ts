import type {JudgeDocument} from "../result/documents.ts";
import type {Session} from "../result/session.ts";
import {type Drift, driftOf} from "../trial/drift.ts";
import type {TrialRun} from "../trial/model.ts";

/**
 * How the runs of a judged day change through the afternoon, the part taken out.
 *
 * @param result of `judge` on the same session
 * @returns null where the runs are too few or the drift cannot be told from the part
 */
export function afternoonDrift(session: Session, result: JudgeDocument): Drift | null {
  const runs = session.runs.map(({run, arm, block, direction, refitted}, i): TrialRun => {
    const {value, used} = result.runs[i];
    return {run, arm, value: used ? value : null, block, direction, timeS: null, refitted};
  });
  return driftOf(runs, {level: session.level});
}
