import type {ArmName, Plan} from "../result/session.ts";
import type {Term} from "../stats/qr.ts";

/** One run as the comparison sees it; `value` is null where the run is not used. */
export interface TrialRun {
  /** place in the order driven, from 1 */
  run: number;
  arm: ArmName;
  /** primary measure, in one unit for all runs, or null = excluded or without a value */
  value: number | null;
  /** what an excluded run measured all the same, where it did: the verdict is given again with it */
  excludedValue?: number | null;
  block: number | null;
  direction: "out" | "back" | null;
  /** clock time of the run [s], one zero for all runs, or null */
  timeS: number | null;
  refitted: boolean;
}

export type UsedRun = TrialRun & {value: number};

export type ModelKind = "two means" | "pairs" | "drift";

/** The least-squares model of a plan. */
export interface Model {
  /** what the plan asks of the model */
  kind: ModelKind;
  /** what `runs` counts: runs, or fittings of which each enters by the mean of its runs */
  unit: "run" | "fitting";
  /** runs that enter; a run whose pair has no partner carries no information on the arm and is left out */
  runs: UsedRun[];
  /** the terms beside the mean, in words: "arm + linear drift by clock time" */
  words: string;
  /** mean first, arm (0 baseline, 1 changed) last */
  terms: Term[];
}

/**
 * Builds the model that a plan names. The terms come from the plan, never from the data: pairs give a term a pair;
 * blocks and drift-balanced orders a linear drift (by clock time where every run has one of the same day, else by place);
 * runs in both directions of the road one more.
 * Without a plan, declared blocks of two runs are taken as pairs, other blocks as reason for a drift.
 */
export function planModel(runs: readonly TrialRun[], plan: Plan | null): Model {
  const used = runs.filter((run): run is UsedRun => run.value !== null);
  const kind = modelKind(runs, plan);
  const pairs = kind === "pairs" ? pairNumbers(runs) : null;
  const entering = pairs ? used.filter(run => isComplete(used, pairs, pairs.get(run.run)!)) : used;
  const terms: Term[] = [];
  const words = ["arm"];
  const add = (name: string, value: (run: UsedRun) => number) =>
    terms.push({name, values: Float64Array.from(entering, value)});
  add("mean", () => 1);
  if (pairs) {
    words.push("pair");
    const numbers = [...new Set(entering.map(run => pairs.get(run.run)!))];
    for (const number of numbers.slice(1))
      add(`pair ${number}`, run => (pairs.get(run.run) === number ? 1 : 0));
  }
  if (kind === "drift") {
    const clock =
      entering.every(run => run.timeS !== null) &&
      new Set(entering.map(run => run.timeS)).size > 1 &&
      daysOf(entering).size === 1;
    words.push(`linear drift by ${clock ? "clock time" : "order"}`);
    const place = centred(entering.map(run => (clock ? run.timeS! : run.run)));
    terms.push({name: "drift", values: place});
  }
  if (new Set(entering.map(run => run.direction)).size > 1 && entering.every(run => run.direction !== null)) {
    words.push("direction");
    add("direction", run => (run.direction === "back" ? 1 : 0));
  }
  add("arm", run => (run.arm === "changed" ? 1 : 0));
  return {kind, unit: "run", runs: entering, words: words.join(" + "), terms};
}

export const DAY_S = 86_400;

/** Days on which runs were driven, as far as their clock times tell. */
export function daysOf(runs: readonly TrialRun[]): Set<number> {
  return new Set(runs.flatMap(run => (run.timeS === null ? [] : [Math.floor(run.timeS / DAY_S)])));
}

function modelKind(runs: readonly TrialRun[], plan: Plan | null): ModelKind {
  if (plan) return plan.order === "complete" ? "two means" : plan.order === "pairs" ? "pairs" : "drift";
  if (runs.some(run => run.block === null)) return "two means";
  const sizes = new Map<number, Set<ArmName>>();
  for (const run of runs) sizes.set(run.block!, (sizes.get(run.block!) ?? new Set()).add(run.arm));
  if (sizes.size < 2 || [...sizes.values()].some(arms => arms.size < 2)) return "two means";
  return runs.length === 2 * sizes.size ? "pairs" : "drift";
}

/** Pairs of runs that enter, baseline and changed; null where the model has none. */
export function pairsOf(
  runs: readonly TrialRun[],
  {kind, runs: entering}: Model,
): [UsedRun[], UsedRun[]][] | null {
  if (kind !== "pairs") return null;
  const numbers = pairNumbers(runs);
  const pairs = [...new Set(entering.map(run => numbers.get(run.run)!))];
  const members = (pair: number, arm: ArmName) =>
    entering.filter(run => run.arm === arm && numbers.get(run.run) === pair);
  return pairs.map(pair => [members(pair, "baseline"), members(pair, "changed")]);
}

/** Pair of each run: its block where every run has one, else its place two by two. */
function pairNumbers(runs: readonly TrialRun[]): Map<number, number> {
  const byBlock = runs.every(run => run.block !== null);
  return new Map(runs.map((run, i) => [run.run, byBlock ? run.block! : Math.floor(i / 2) + 1]));
}

function isComplete(used: readonly UsedRun[], pairs: Map<number, number>, pair: number): boolean {
  const members = used.filter(run => pairs.get(run.run) === pair);
  return members.some(run => run.arm === "baseline") && members.some(run => run.arm === "changed");
}

/** Centred and scaled to ±1, so that the columns of the model are of one size. */
function centred(values: number[]): Float64Array {
  const low = Math.min(...values);
  const half = (Math.max(...values) - low) / 2 || 1;
  return Float64Array.from(values, value => (value - low) / half - 1);
}
