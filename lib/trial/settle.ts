import {studentTQuantile} from "../stats/distributions.ts";

const MOST_RUNS_PER_ARM = 200;

/**
 * What would settle an open question, in words: a new planned test whose interval would reach no further than the
 * worthwhile difference to either side of its estimate, with the spread seen today.
 *
 * A planning figure, not a promise: the spread of n runs is itself known only to about 1/√(2·df).
 */
export function settleWords(
  residualSd: number | null,
  worthwhile: number,
  level: number,
  print: (value: number) => string,
): string {
  if (residualSd === null || residualSd === 0)
    return "Measure how much identical runs differ before planning the next day.";
  const runs = runsPerArmFor(residualSd, worthwhile, level);
  const spread = `runs of one arm differ by ${print(residualSd)} (standard deviation) once the plan's terms are taken out`;
  return runs === null
    ? `With today's spread (${spread}) no day of runs can tell ${print(worthwhile)} from nothing: make the runs more alike, or ask for a larger difference.`
    : `A new planned test of about ${2 * runs} runs would have an interval of ±${print(worthwhile)} with today's spread: ${spread}. Adding runs to this day and judging again would count as a second look.`;
}

/** Smallest number of runs an arm whose t interval of a difference has a half-width of at most `halfWidth`; null above 200. */
export function runsPerArmFor(residualSd: number, halfWidth: number, level: number): number | null {
  for (let n = 3; n <= MOST_RUNS_PER_ARM; n++) {
    const half = studentTQuantile(0.5 + level / 2, 2 * n - 3) * residualSd * Math.sqrt(2 / n);
    if (half <= halfWidth) return n;
  }
  return null;
}
