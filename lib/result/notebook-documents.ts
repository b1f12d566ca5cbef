import type {ErrorWords} from "./error.ts";
import type {ResultDocument} from "./result-document.ts";

/** What `fairpull run --json` prints. */
export interface RunDocument {
  format: "fairpull.run/1";
  notebook: string;
  title: string | null;
  /** code cells that ran */
  cells: number;
  /** the verdict in one line, or null where the notebook ends without one */
  verdict: string | null;
  /** the notebook's result document, or null */
  result: ResultDocument | null;
  /** files that the library read, relative to the notebook's folder */
  inputs: {file: string; sha256: string}[];
  error?: ErrorWords;
}

/** One page in `fairpull publish --json`. */
export interface PageRecord {
  notebook: string;
  /** path of the page, or null where it could not be written */
  page: string | null;
  title: string | null;
  verdict: string | null;
  result: ResultDocument | null;
  error?: ErrorWords;
}

/** What `fairpull publish --json` prints. `error` is that of the first notebook without a page. */
export interface PublishDocument {
  format: "fairpull.publish/1";
  pages: PageRecord[];
  error?: ErrorWords;
}
