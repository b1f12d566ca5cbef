import type {VerdictState} from "./documents.ts";
import type {ErrorWords} from "./error.ts";

/** What `fairpull simulate workshop --json` prints. Nothing of the truth: the same text may be shown to students. */
export interface WorkshopDocument {
  format: "fairpull.workshop/1";
  folder: string | null;
  /** file of the instructor alone, with every truth */
  instructor: string | null;
  /** tables that were made now */
  tables: {table: number; folder: string; session: string; notebook: string; runs: number}[];
  error?: ErrorWords;
}

/** One table of a class. Differences are changed − baseline, whatever the letters were. */
export interface CollectedTable {
  table: number;
  question: string;
  truth: number;
  unit: string;
  /** the verdict that was handed in, or null where there is none that counts */
  verdict: {
    file: string;
    /** true where the table judged letters and did not know the part */
    blind: boolean;
    state: VerdictState;
    shown: boolean;
    estimate: number | null;
    interval: {low: number; high: number} | null;
    /** whether the interval holds the truth; null without an interval */
    covered: boolean | null;
    excluded: number;
    /** departures from the plan, in words, or null */
    departures: string | null;
  } | null;
}

/** Counts over the tables whose verdict counts. */
export interface ClassSummary {
  tables: number;
  verdicts: number;
  intervals: number;
  covered: number;
  /** verdicts of tables whose part does nothing, and how many of these show a difference */
  null_verdicts: number;
  null_shown: number;
  /** the same of tables whose part does something; `other_shown` counts those on the right side of zero */
  other_verdicts: number;
  other_shown: number;
}

/** What `fairpull simulate collect --json` prints. */
export interface CollectDocument {
  format: "fairpull.collect/1";
  folder: string | null;
  seed: number | null;
  level: number;
  page: string | null;
  tables: CollectedTable[];
  summary: ClassSummary | null;
  /** what does not count, and why */
  problems: {code: string; table: number | null; files: string[]; words: string}[];
  error?: ErrorWords;
}
