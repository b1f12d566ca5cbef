import {createRandom} from "../../stats/random.ts";
import {answer} from "../../trial/answer.ts";
import type {TrialRun} from "../../trial/model.ts";
import {numbersDays, trialRuns} from "../coverage-days.ts";

/** Who decides which runs are left out, and by what. */
export type LeavingOut = "nobody" | "blind" | "expectant";

/** What a habit of leaving runs out does over many days of a part that does nothing. */
export interface ExpectationCount {
  leavingOut: LeavingOut;
  /** share of days on which the part is shown better */
  shownBetter: number;
  /** share of days on which it is shown worse */
  shownWorse: number;
  /** mean of the estimates, in per cent of the band time */
  meanEstimate: number;
}

/** One of those days, run by run; values in per cent of the nominal band time. */
export interface ExpectationDay {
  runs: {run: number; arm: "baseline" | "changed"; value: number; leftOut: Record<LeavingOut, boolean>}[];
  estimates: Record<LeavingOut, number | null>;
}

const LEAVING_OUT: readonly LeavingOut[] = ["nobody", "blind", "expectant"];

/** Twelve runs in two groups, the spread of a careful driver: what a club drives. */
const PLAN = {order: "complete", runs: 12, spread: 0.008, noise: "normal"} as const;
/** Not asked for here; any positive number would do. */
const WORTHWHILE_PERCENT = 1;

/**
 * Days of a part that does nothing, judged with no run left out, with the slowest runs left out by somebody who does not know the
 * part, and with the slowest runs *of the part* left out by somebody who expects it to help and finds a reason for each.
 *
 * Band times are −100 ln(power), normal, 0.8 % from run to run; no road, no log.
 *
 * @param options days, default 1,000; runs left out a day, default 2; seed
 * @returns a count for each habit, and the first day
 * @throws {RangeError} days below 1, or more runs left out than leave three an arm
 */
export function expectantDriver({
  days = 1_000,
  leftOut = 2,
  seed,
}: {
  days?: number;
  leftOut?: number;
  seed: number;
}): {
  counts: ExpectationCount[];
  firstDay: ExpectationDay;
} {
  if (!(Number.isInteger(days) && days >= 1)) {
    throw new RangeError(`expectantDriver: days must be a whole number from 1 on, but it is ${days}`);
  }
  if (!(Number.isInteger(leftOut) && leftOut >= 0 && leftOut <= 3)) {
    throw new RangeError(`expectantDriver: 0 to 3 runs can be left out, but this is ${leftOut}`);
  }
  const random = createRandom(seed, "expectant driver");
  const draw = numbersDays(PLAN, 0, random);
  const sums = LEAVING_OUT.map(leavingOut => ({leavingOut, better: 0, worse: 0, sum: 0, judged: 0}));
  let firstDay: ExpectationDay | null = null;
  for (let i = 0; i < days; i++) {
    const {deal, values} = draw();
    const runs = trialRuns(deal, PLAN.order, values);
    const left = LEAVING_OUT.map(habit => slowest(runs, habit, leftOut));
    const answers = left.map(out => answerWithout(runs, out));
    sums.forEach((so, k) => {
      const {state, effect} = answers[k];
      if (state === "shown-better") so.better++;
      if (state === "shown-worse") so.worse++;
      if (effect.fit) {
        so.sum += effect.fit.estimate;
        so.judged++;
      }
    });
    firstDay ??= {
      runs: runs.map(({run, arm, value}) => ({
        run,
        arm,
        value: value!,
        leftOut: byHabit(k => left[k].has(run)),
      })),
      estimates: byHabit(k => answers[k].effect.fit?.estimate ?? null),
    };
  }
  return {
    counts: sums.map(({leavingOut, better, worse, sum, judged}) => ({
      leavingOut,
      shownBetter: better / days,
      shownWorse: worse / days,
      meanEstimate: sum / judged,
    })),
    firstDay: firstDay!,
  };
}

function byHabit<T>(value: (k: number) => T): Record<LeavingOut, T> {
  return {nobody: value(0), blind: value(1), expectant: value(2)};
}

/** Numbers of the runs that a habit leaves out. */
function slowest(runs: readonly TrialRun[], habit: LeavingOut, count: number): Set<number> {
  if (habit === "nobody") return new Set();
  const eligible = runs.filter(({arm}) => habit === "blind" || arm === "changed");
  return new Set(
    [...eligible]
      .sort((a, b) => b.value! - a.value!)
      .slice(0, count)
      .map(({run}) => run),
  );
}

function answerWithout(runs: readonly TrialRun[], out: ReadonlySet<number>) {
  const plan = {order: PLAN.order, runs: PLAN.runs, seed: null, looks: 1, unit: "run", locked: null} as const;
  const kept = runs.map(run => (out.has(run.run) ? {...run, value: null} : run));
  return answer(kept, {plan, level: 0.95, worthwhile: WORTHWHILE_PERCENT, better: "lower"});
}
