import type {ArmName, Plan} from "../result/session.ts";
import {drawSchedule, scheduledWays} from "./schedule.ts";
import {canonicalJson, fixedOf, planLock} from "./seal.ts";

/** One thing that is not as it was planned. */
export interface Departure {
  /** "band", "primary", "worthwhile", "question", "arms", "better", "plan", "runs", "order", "direction", "exclusion" */
  what: string;
  /** what was planned and what is, in words */
  words: string;
}

/** A run as far as a plan speaks of it. */
export interface DrivenRun {
  run: number;
  arm: ArmName;
  direction: "out" | "back" | null;
  exclude: string | null;
  excludedBefore: "result known" | "not known" | null;
}

const NAMES: Record<string, string> = {
  question: "the question",
  primary: "the measure",
  worthwhile: "the worthwhile difference",
  band: "the band",
  arms: "the names of the arms",
  better: "which direction is better",
};

/** More single runs than this are not listed one by one. */
const LISTED = 8;

/**
 * Every departure of what was driven and is judged from what a plan fixed and locked. Nothing here accepts one: they are told.
 *
 * @param plan    the plan of the session
 * @param written the session's keys as they stand in the file, `plan` among them
 * @param driven  the runs, in the order driven
 * @param nameOf  how a run's arm is called in words (letters where the labels are sealed), default the arm
 * @returns null where the plan carries no lock, so that nothing shows what was planned
 */
export function planDepartures(
  plan: Plan,
  written: Readonly<Record<string, unknown>>,
  driven: readonly DrivenRun[],
  nameOf: (arm: ArmName) => string = arm => arm,
): Departure[] | null {
  if (plan.locked === null) return null;
  return [...changedKeys(plan, written), ...runDepartures(plan, driven, nameOf)];
}

function changedKeys(
  {locked, fixed: planned}: Plan,
  written: Readonly<Record<string, unknown>>,
): Departure[] {
  const now = fixedOf(written);
  const fixed = planned ?? now;
  if (planLock(fixed, written["plan"] as Record<string, unknown>) !== locked) {
    return [
      {
        what: "plan",
        words:
          "the plan itself was changed after it was locked: its hash does not fit, so what was planned cannot be told from this session",
      },
    ];
  }
  return [...new Set([...Object.keys(fixed), ...Object.keys(now)])].flatMap(key => {
    const [was, is] = [fixed[key], now[key]].map(value =>
      value === undefined ? "nothing" : canonicalJson(value),
    );
    if (was === is) return [];
    return [{what: key, words: `${NAMES[key]} was planned as ${readable(was)} and is ${readable(is)}`}];
  });
}

/** Canonical JSON for people: without its quotes. */
function readable(json: string): string {
  return json.replaceAll('"', "").replaceAll(":", ": ").replaceAll(",", ", ");
}

function runDepartures(
  plan: Plan,
  driven: readonly DrivenRun[],
  nameOf: (arm: ArmName) => string,
): Departure[] {
  const left: Departure[] = [];
  if (plan.runs !== null && plan.runs !== driven.length) {
    left.push({what: "runs", words: `${plan.runs} runs were planned, ${driven.length} are in the session`});
  }
  if (plan.runs !== null && plan.seed !== null) {
    const {order, runs, seed, mostChanges, ways} = plan;
    const arms = drawSchedule({order, runs, seed, mostChanges, ways});
    const planned = driven.filter((_, place) => place < runs);
    const other = planned.filter((run, place) => run.arm !== arms[place]);
    if (other.length > 0) {
      left.push({
        what: "order",
        words: `${some(other.map(run => `run ${run.run} was to be ${nameOf(arms[run.run - 1])} and is ${nameOf(run.arm)}`))}`,
      });
    }
    const directions = scheduledWays({runs, ways});
    const turned = planned.filter(
      (run, place) => run.direction !== null && run.direction !== directions[place],
    );
    if (plan.ways !== undefined && turned.length > 0) {
      left.push({
        what: "direction",
        words: some(
          turned.map(run => `run ${run.run} was to go ${directions[run.run - 1]} and went ${run.direction}`),
        ),
      });
    }
  }
  for (const {run, exclude, excludedBefore} of driven) {
    if (exclude === null) continue;
    const known =
      excludedBefore === null
        ? "whether its result was known is not said"
        : excludedBefore === "result known"
          ? "when its result was known"
          : "before its result was known";
    left.push({what: "exclusion", words: `run ${run} is left out (${exclude}), ${known}`});
  }
  return left;
}

function some(words: readonly string[]): string {
  const more = words.length - LISTED;
  return more > 0 ? `${words.slice(0, LISTED).join(", ")} and ${more} more` : words.join(", ");
}
