import {type DaysSummary, type JudgedDay, summariseDays} from "../../lib/simulate/judged-days.ts";
import type {DayScenario} from "../../lib/simulate/scenario.ts";
import type {DaysItem} from "../../lib/simulate/thread-jobs.ts";
import {inThreads} from "../../lib/simulate/threads.ts";

/** Days that a thread does at a time: enough to make handing over cheap, few enough to end together. */
const PER_ITEM = 50;

/** Many days of a scenario through the whole pipeline, on every core. */
export async function judgeDays(
  scenario: DayScenario,
  {days, firstSeed, looks}: {days: number; firstSeed: number; looks?: number},
): Promise<DaysSummary & {seconds: number; each: JudgedDay[]}> {
  const items = Array.from({length: Math.ceil(days / PER_ITEM)}, (_, i): DaysItem => {
    const done = i * PER_ITEM;
    return {scenario, looks, firstSeed: firstSeed + done, days: Math.min(PER_ITEM, days - done)};
  });
  return summarised(items);
}

/** One day of each scenario. */
export async function judgeEach(
  scenarios: readonly DayScenario[],
  firstSeed: number,
): Promise<DaysSummary & {seconds: number; each: JudgedDay[]}> {
  return summarised(scenarios.map((scenario, i) => ({scenario, firstSeed: firstSeed + i, days: 1})));
}

async function summarised(
  items: readonly DaysItem[],
): Promise<DaysSummary & {seconds: number; each: JudgedDay[]}> {
  const start = performance.now();
  const each = (await inThreads("days", items)).flat();
  return {...summariseDays(each), seconds: (performance.now() - start) / 1000, each};
}

/** "5.12 ± 0.31 %": a share with its binomial standard error. */
export function percent(share: number, days: number): string {
  return `${(100 * share).toFixed(2)} ± ${(100 * standardErrorOf(share, days)).toFixed(2)} %`;
}

/** Binomial standard error of a share. */
export function standardErrorOf(share: number, days: number): number {
  return Math.sqrt((share * (1 - share)) / days);
}

/** One line of what many days came to. */
export function daysLine(name: string, summary: DaysSummary & {seconds: number}, firstSeed: number): string {
  const {days, shown, covered, median_width, not_a_fair_test, doubtful, seconds} = summary;
  return (
    `${name}, ${days} days from seed ${firstSeed}: shown ${percent(shown, days)}, covered ${percent(covered, days)}, ` +
    `median width ${median_width.toFixed(4)} s, not a fair test ${percent(not_a_fair_test, days)}, in doubt ${percent(doubtful, days)}; ` +
    `${seconds.toFixed(0)} s`
  );
}
