import type {ErrorWords} from "./error.ts";

/** What became of a page that was computed again. */
export type VerifyOutcome = "same" | "differs" | "inputs-differ" | "cannot-run";

/** One place where the page and what was computed again are not the same. */
export interface VerifyDifference {
  /** part of the page or of its result: "verdict", "figure-effect", "result: effect.estimate" */
  where: string;
  /** as the page has it; null where it has nothing there */
  page: string | number | null;
  /** as it comes out now */
  recomputed: string | number | null;
  /** recomputed − page where both are numbers, else null */
  by: number | null;
}

/** What `fairpull verify --json` prints. */
export interface VerifyDocument {
  format: "fairpull.verify/1";
  page: string;
  outcome: VerifyOutcome | null;
  /** the outcome in one sentence */
  words: string;
  /** files of the test against the hashes in the page */
  inputs: {file: string; state: "same" | "differs" | "missing" | "refused" | "not-needed"}[];
  differences: VerifyDifference[];
  /** ids of figures and tables that were computed again from the data, and of those that only the notebook's cells make */
  recomputed: string[];
  not_recomputed: string[];
  /** cells whose source is not that of the released template; null where it is not known or was not asked for */
  changed_cells: string[] | null;
  /** versions by which the page was made and by which it was computed again */
  versions: {page: Record<string, string>; here: Record<string, string>} | null;
  notes: string[];
  error?: ErrorWords;
}
