import type {CheckRecord} from "../result/documents.ts";
import type {ArmName, Plan} from "../result/session.ts";
import type {Effect} from "./effect.ts";
import {numberFittings} from "./fittings.ts";
import type {TrialRun} from "./model.ts";
import {orderWords} from "./plan.ts";
import type {Redeals} from "./redeals.ts";

/**
 * What the design itself says for or against a comparison: whether the order was drawn by lot, whether there was more
 * than one change of part, whether the arm can be told from direction, drift and pairs, whether there is any spread.
 */
export function designChecks(
  runs: readonly TrialRun[],
  plan: Plan | null,
  effect: Effect,
  dealt: Redeals | {deals: null; reason: string},
): CheckRecord[] {
  return [changeovers(runs), order(runs, plan, dealt), separable(effect), directions(runs), spread(effect)];
}

/** One changeover compares two halves of an afternoon: 0.3 % power loss a run alone makes 1.2 % in 8 runs. */
function changeovers(runs: readonly TrialRun[]): CheckRecord {
  const name = "changes of part";
  const changes = runs.filter((run, i) => i > 0 && run.arm !== runs[i - 1].arm).length;
  if (changes === 1) {
    return {
      name,
      outcome: "failed",
      words:
        "all runs of one arm came before all of the other, so the part cannot be told from the time of day",
    };
  }
  const fittings = numberFittings(runs);
  return {
    name,
    outcome: "held",
    words: `the part was changed ${changes} times, ${fittings[fittings.length - 1]} fittings in all`,
  };
}

function order(
  runs: readonly TrialRun[],
  plan: Plan | null,
  dealt: Redeals | {deals: null; reason: string},
): CheckRecord {
  const name = "order by lot";
  if (!plan) {
    return {
      name,
      outcome: "not-checkable",
      words: "the session holds no plan: as far as it tells, the order was not drawn by lot",
    };
  }
  if (!dealt.deals) return {name, outcome: "doubtful", words: dealt.reason};
  if (plan.runs !== null && plan.runs !== runs.length) {
    return {
      name,
      outcome: "doubtful",
      words: `${plan.runs} runs were planned and ${runs.length} are in the session`,
    };
  }
  return {
    name,
    outcome: "held",
    words: `the order driven is one that the plan could have dealt (${orderWords(plan.order)})`,
  };
}

function separable({fit, model}: Effect): CheckRecord {
  const name = "arm told from the rest";
  if (fit?.confounded) {
    return {
      name,
      outcome: "failed",
      words: `these runs cannot tell the part from ${fit.confounded}: it changed whenever the part did`,
    };
  }
  return {name, outcome: "held", words: `the terms of the plan can be told apart (${model.words})`};
}

/** Equal numbers in each direction, or direction in the model (40 CFR 1066.310 asks for equal numbers each way). */
function directions(runs: readonly TrialRun[]): CheckRecord {
  const name = "directions";
  const used = runs.filter(run => run.value !== null);
  if (used.some(run => run.direction === null)) {
    return {name, outcome: "not-checkable", words: "the direction was not noted for every run"};
  }
  const back = (arm: ArmName) => used.filter(run => run.arm === arm && run.direction === "back").length;
  const words = `driven back: ${back("baseline")} baseline and ${back("changed")} changed runs`;
  const both = new Set(used.map(run => run.direction)).size > 1;
  return {
    name,
    outcome: "held",
    words: both ? `${words}; direction is a term of the model` : "every run was driven in one direction",
  };
}

function spread({noSpread}: Effect): CheckRecord {
  const name = "spread between runs";
  if (noSpread) {
    return {
      name,
      outcome: "failed",
      words: "all runs of an arm agree to nine digits, which no road test does: look for a copied log",
    };
  }
  return {name, outcome: "held", words: "runs of one arm differ, as runs do"};
}
