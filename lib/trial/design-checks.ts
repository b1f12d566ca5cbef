import type {CheckRecord} from "../result/documents.ts";
import type {ArmName, Plan} from "../result/session.ts";
import {type Effect, isSingle, lookWords} from "./effect.ts";
import {numberFittings} from "./fittings.ts";
import type {Look} from "./looks.ts";
import {DAY_S, daysOf, type TrialRun} from "./model.ts";
import {orderWords} from "./plan.ts";
import {orderProblemOf} from "./redeals.ts";

/**
 * What the design itself says for or against a comparison: whether there was more than one change of part, whether the order was
 * drawn by lot and is one of the plan's, whether this is a look that was planned, whether the arm can be told from direction, drift,
 * pairs, blocks and days, whether there is any spread.
 */
export function designChecks(runs: readonly TrialRun[], plan: Plan | null, effect: Effect): CheckRecord[] {
  return [
    changeovers(runs),
    order(runs, plan),
    looks(effect.look, plan),
    separable(effect),
    ...shared(runs),
    directions(runs),
    spread(effect),
  ];
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

function order(runs: readonly TrialRun[], plan: Plan | null): CheckRecord {
  const name = "order by lot";
  if (!plan) {
    return {
      name,
      outcome: "not-checkable",
      words: "the session holds no plan: as far as it tells, the order was not drawn by lot",
    };
  }
  const problem = orderProblemOf(runs, plan);
  if (problem) return {name, outcome: "doubtful", words: problem};
  return {
    name,
    outcome: "held",
    words: `the order driven is one that the plan could have dealt (${orderWords(plan.order)})`,
  };
}

/**
 * Judging again after more runs at the same level makes some 9 % false alarms instead of 5, so a look that was not planned is called by
 * its name.
 */
function looks(look: Look, plan: Plan | null): CheckRecord {
  const name = "looks at the data";
  const {kind, runs, plannedAt, falseAlarm} = look;
  const planned = plannedAt[plannedAt.length - 1];
  if (plan === null || plan.runs === null) {
    return {
      name,
      outcome: "not-checkable",
      words: "the session does not say how many runs were planned, so looks before these cannot be told",
    };
  }
  if (kind === "grown") {
    return {
      name,
      outcome: "doubtful",
      words: `${runs} runs where ${planned} were planned: a look that was not planned. Stopping when it looks good raises false alarms; the interval is that of a second look, and both looks together call a difference shown without one on up to ${percentOf(falseAlarm!)} of days`,
    };
  }
  if (kind === "early") {
    return {
      name,
      outcome: "doubtful",
      words: `judged after ${runs} of ${planned} planned runs; if this day goes on and is judged again, that is a look that was not planned, and false alarms rise`,
    };
  }
  if (kind === "between") {
    return {
      name,
      outcome: "doubtful",
      words: `judged after ${runs} runs, but looks were planned after ${plannedAt.join(", ")}: a look that was not planned; it spends what the plan's boundary allows at ${runs} runs`,
    };
  }
  if (runs > planned) {
    return {
      name,
      outcome: "doubtful",
      words: `${planned} runs were planned and ${runs} are in the session, as runs were driven again for those left out`,
    };
  }
  return {
    name,
    outcome: "held",
    words: isSingle(look)
      ? `one look, after all ${planned} planned runs`
      : `${lookWords(look)}: looks were planned after ${plannedAt.join(", ")} runs`,
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

/** What every run of an arm shares and none of the other has cannot be told from the part: a block, a day. */
function shared(runs: readonly TrialRun[]): CheckRecord[] {
  const used = runs.filter(run => run.value !== null);
  const checks: CheckRecord[] = [];
  const blocks = armsBy(used, run => run.block);
  if (blocks && [...blocks.values()].every(arms => arms.size === 1) && blocks.size < used.length) {
    checks.push({
      name: "blocks",
      outcome: "failed",
      words: "every block holds runs of one arm only, so the part cannot be told from the block",
    });
  }
  if (daysOf(used).size > 1) {
    const days = armsBy(used, run => run.timeS && Math.floor(run.timeS / DAY_S));
    const split = days !== null && [...days.values()].every(arms => arms.size === 1);
    checks.push({
      name: "days",
      outcome: split ? "failed" : "doubtful",
      words: split
        ? "every day saw runs of one arm only, so the part cannot be told from the day"
        : `the runs are of ${daysOf(used).size} days, and what differed between days is in the spread`,
    });
  }
  return checks;
}

/** Arms that share each value of a key; null where a run has none or all have the same. */
function armsBy(
  runs: readonly TrialRun[],
  key: (run: TrialRun) => number | null,
): Map<number, Set<ArmName>> | null {
  const groups = new Map<number, Set<ArmName>>();
  for (const run of runs) {
    const group = key(run);
    if (group === null) return null;
    groups.set(group, (groups.get(group) ?? new Set()).add(run.arm));
  }
  return groups.size > 1 ? groups : null;
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
      words:
        "the runs agree to nine digits with each other or with a straight drift, which no road test does: look for a copied log",
    };
  }
  return {name, outcome: "held", words: "runs of one arm differ, as runs do"};
}

function percentOf(share: number): string {
  return `${(100 * share).toFixed(0)} %`;
}
