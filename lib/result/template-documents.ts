import type {ErrorWords} from "./error.ts";

/** What `fairpull new --json` prints; `--list` fills `questions` alone. */
export interface NewDocument {
  format: "fairpull.new/1";
  template: string | null;
  version: string | null;
  folder: string | null;
  /** files that were made, null where the template needs none or none was made */
  notebook: string | null;
  session: string | null;
  readme: string | null;
  /** what a notebook can be made for */
  questions: {name: string; title: string; version: string}[];
  error?: ErrorWords;
}

/** What `fairpull upgrade --json` prints. */
export interface UpgradeDocument {
  format: "fairpull.upgrade/1";
  notebook: string | null;
  template: string | null;
  from: string | null;
  to: string | null;
  /** true where nothing was written because it was asked so */
  dry_run: boolean;
  /** copy of the notebook as it was */
  backup: string | null;
  /** cells by id; null where the notebook is at the present version */
  cells: {
    updated: string[];
    added: string[];
    removed: string[];
    conflicts: string[];
    kept: string[];
    left_out: string[];
    order: "template" | "analyst";
  } | null;
  /** marked cells that wait to be settled */
  open_conflicts: number;
  /** "Numbers that change" of every version passed, oldest first */
  numbers_that_change: {version: string; words: string}[];
  error?: ErrorWords;
}
