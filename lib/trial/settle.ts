import {studentTQuantile} from "../stats/distributions.ts";

/** More runs an arm than this are no day's work. */
const MOST_RUNS_PER_ARM = 50;

/** What today's runs say; numbers in the unit of the primary measure. */
export interface TodaysRuns {
  /** changed − baseline */
  estimate: number | null;
  worthwhile: number;
  /** spread of one run about the plan's model */
  residualSd: number | null;
  level: number;
}

/**
 * What would settle an open question, in words: a new planned test whose interval would be narrow enough if the true
 * difference were today's estimate and the spread today's.
 *
 * Whether there is a difference is settled by an interval clear of zero, narrower than |estimate| to either side, or by
 * one inside ± worthwhile, narrower than worthwhile − |estimate|: the wider of the two is asked for. Its size is settled by one
 * narrower than the distance of |estimate| from worthwhile. A planning figure, not a promise: the spread of n
 * runs is itself known only to about 1/√(2·df).
 */
export function settleWords(
  open: "difference" | "size",
  {estimate, worthwhile, residualSd, level}: TodaysRuns,
  print: (value: number) => string,
): string {
  if (!residualSd || estimate === null)
    return "Measure how much identical runs differ before planning the next day.";
  const size = Math.abs(estimate);
  const halfWidth = open === "size" ? Math.abs(size - worthwhile) : Math.max(size, worthwhile - size);
  const runs = runsPerArmFor(halfWidth, {residualSd, level});
  const spread = `runs of one arm differ by ${print(residualSd)} (standard deviation, the plan's terms taken out)`;
  if (runs === null) {
    return `With today's spread, ${spread}, not even ${2 * MOST_RUNS_PER_ARM} runs would do: make the runs more alike, or leave it open.`;
  }
  return `If the difference is what today says, a new planned test of about ${2 * runs} runs would settle it: ${spread}. Adding runs to this day and judging again would be a second look, which raises false alarms.`;
}

/** Smallest number of runs an arm whose t interval of the difference reaches at most `halfWidth` to either side; null above 50. */
export function runsPerArmFor(
  halfWidth: number,
  {residualSd, level}: {residualSd: number; level: number},
): number | null {
  for (let n = 3; n <= MOST_RUNS_PER_ARM; n++) {
    const half = studentTQuantile(0.5 + level / 2, 2 * n - 3) * residualSd * Math.sqrt(2 / n);
    if (half <= halfWidth) return n;
  }
  return null;
}
