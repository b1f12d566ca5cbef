import type {ArmName} from "../../result/session.ts";
import {planDepartures} from "../../trial/departures.ts";
import {asSealed, type SessionLabels} from "../seal.ts";
import {type Check, doubtful, held, notCheckable} from "./check.ts";

/** Lists what is not as it was planned; it accepts nothing and fails nothing, since what a departure does is for the reader to weigh. */
export const planKeptCheck: Check = {
  name: "kept to the plan",
  rule: "measure, band, worthwhile difference, order, number of runs and exclusions are as they were when the plan was locked",
  source: "SAE J1321 (2012); CONSORT 2025, item 10",
  judge({day: {session}}) {
    const left = sessionDepartures(session);
    if (left === null) {
      return notCheckable(
        session.plan === null
          ? "the session holds no plan"
          : "the plan carries no lock, so nothing shows that it stood before the runs as it stands now",
      );
    }
    if (left.length === 0) return held("every run and every setting is as it was locked before the runs");
    return doubtful(left.join("; "));
  },
};

/** Departures of a session from its locked plan, in words; null where nothing was locked. */
export function sessionDepartures(session: SessionLabels): string[] | null {
  const {plan, seal, written} = session;
  if (plan === null) return null;
  // The lot was drawn in letters, A first in the place of the baseline, whatever the letters turn out to be.
  const driven = session.runs.map(run => ({...run, arm: asSealed(run.arm, seal)}));
  const name = (arm: ArmName) => (seal === null ? arm : arm === "baseline" ? "A" : "B");
  return planDepartures(plan, written, driven, name)?.map(({words}) => words) ?? null;
}
