import type {Plan} from "../result/session.ts";
import {normalQuantile} from "../stats/distributions.ts";
import {crossingProbabilities, type Spending, spendingBoundaries} from "../stats/sequential.ts";
import {orderStep} from "./plan.ts";

/** Fewer runs than this leave no interval under any plan, so no look is planned there. */
const FEWEST_RUNS = 6;
/** A boundary is never read farther out than this: t quantiles beyond it say "not now" all the same. */
const SMALLEST_NOMINAL_P = 1e-12;

/** Which look at the data this is. */
export interface Look {
  /**
   * final: the only or last planned one; planned: an earlier planned one; early: before a plan of one look is complete; between:
   * at a number of runs that the sequence does not name; grown: after more runs than planned
   */
  kind: "final" | "planned" | "early" | "between" | "grown";
  /** this look, from 1 */
  look: number;
  /** planned looks */
  looks: number;
  /** runs of the session, excluded ones too */
  runs: number;
  /** numbers of runs after which looks were planned; empty where the session does not say */
  plannedAt: number[];
  /** two-sided p at which this look may call a difference shown; 1 − level where the plan has one look */
  nominalP: number;
  /** the same for the interval of two one-sided tests, at 2·level − 1 */
  nominalPEquivalence: number;
  /** chance of a false alarm over all looks up to this one, where it is above 1 − level, else null */
  falseAlarm: number | null;
}

/**
 * Numbers of runs after which a plan has its looks: equal shares of the planned runs, each rounded up to whole blocks; looks
 * before there can be an interval are left out.
 *
 * @param plan with `runs`
 */
export function plannedLooks({order, runs, looks}: Plan): number[] {
  if (runs === null) return [];
  const step = orderStep(order);
  const at = Array.from({length: looks}, (_, k) => Math.ceil((runs * (k + 1)) / looks / step) * step);
  return [...new Set(at.map(n => Math.min(n, runs)))].filter(n => n >= FEWEST_RUNS || n === runs);
}

/**
 * Which look a session is, and at which nominal p it may call a difference shown.
 *
 * Planned looks spend the chance of a false alarm by K. K. G. Lan and D. L. DeMets (1983), O'Brien–Fleming kind; the nominal p of
 * the normal boundary is to be used with the t quantile of the look's own degrees of freedom (as z the boundaries give 9–17 % false
 * alarms at 3 to 12 runs an arm). A look between planned ones spends what the same function allows. After more runs than planned the
 * chance was spent: the boundary is then that of two equal looks (Pocock kind), and `falseAlarm` says what both together come to.
 *
 * @param counts runs in the session, and those of them that are used
 * @throws {RangeError} several looks without a number of runs
 */
export function lookOf(
  {placed, used}: {placed: number; used: number},
  {plan, level}: {plan: Plan | null; level: number},
): Look {
  const alpha = 1 - level;
  const single = {
    look: 1,
    looks: plan?.looks ?? 1,
    runs: placed,
    plannedAt: [],
    nominalP: alpha,
    nominalPEquivalence: 2 * alpha,
    falseAlarm: null,
  };
  if (!plan || plan.runs === null) {
    if (plan && plan.looks > 1)
      throw new RangeError(`lookOf: ${plan.looks} looks need the number of planned runs`);
    return {...single, kind: "final"};
  }
  const plannedAt = plannedLooks(plan);
  const {runs} = plan;
  if (used > runs)
    return {...single, kind: "grown", plannedAt, look: plannedAt.length + 1, ...grown(runs / used, alpha)};
  const before = plannedAt.filter(n => n < placed);
  const base = {...single, plannedAt, look: before.length + 1};
  if (plannedAt.length === 1) return {...base, look: 1, kind: placed < runs ? "early" : "final"};
  const kind = placed >= runs ? "final" : plannedAt.includes(placed) ? "planned" : "between";
  const times = [...before, Math.min(placed, runs)].map(n => n / runs);
  return {
    ...base,
    look: kind === "final" ? plannedAt.length : base.look,
    kind,
    nominalP: lastNominal([...new Set(times)], alpha, "obrien-fleming"),
    nominalPEquivalence: lastNominal([...new Set(times)], 2 * alpha, "obrien-fleming"),
  };
}

function grown(time: number, alpha: number): Pick<Look, "nominalP" | "nominalPEquivalence" | "falseAlarm"> {
  const nominalP = lastNominal([time, 1], alpha, "pocock");
  const z = [alpha, nominalP].map(p => normalQuantile(1 - p / 2));
  return {
    nominalP,
    nominalPEquivalence: lastNominal([time, 1], 2 * alpha, "pocock"),
    falseAlarm: crossingProbabilities([time, 1], z)[1],
  };
}

/** Boundaries by their question: they depend on the plan alone, and a calibration asks the same ones again and again. */
const KNOWN = new Map<string, number>();

function lastNominal(times: readonly number[], alpha: number, spending: Spending): number {
  const key = `${spending} ${alpha} ${times.join(" ")}`;
  const known = KNOWN.get(key);
  if (known !== undefined) return known;
  const looks = spendingBoundaries(times, {alpha, spending});
  const nominal = Math.max(SMALLEST_NOMINAL_P, looks[looks.length - 1].nominalP);
  KNOWN.set(key, nominal);
  return nominal;
}
