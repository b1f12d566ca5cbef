import {type CoverageOptions, type CoverageRow, coverageRow} from "./coverage.ts";
import type {CoverageCase} from "./coverage-cases.ts";
import {type JudgedDay, judgeSimulatedDay} from "./judged-days.ts";
import type {DayScenario} from "./scenario.ts";
import {rehearseEvening} from "./workshop/rehearse.ts";

/** What threads can be asked to do: plain data in, plain data out, and the same whichever thread does it. */
export const THREAD_JOBS = {
  coverage: ({from, options}: {from: CoverageCase; options: CoverageOptions}): CoverageRow =>
    coverageRow(from, options),
  days: ({scenario, firstSeed, days, looks}: DaysItem): JudgedDay[] =>
    Array.from({length: days}, (_, i) => judgeSimulatedDay(scenario, firstSeed + i, {looks})),
  evening: rehearseEvening,
};

/** Some days of a scenario, one seed after another. */
export interface DaysItem {
  scenario: DayScenario;
  firstSeed: number;
  days: number;
  looks?: number;
}

export type ThreadJobs = typeof THREAD_JOBS;
export type ThreadJob = keyof ThreadJobs;
