/** How an item of the reporting checklist came out. */
export type ReportOutcome = "met" | "not met" | "not stated";

/** One item of the reporting checklist. */
export interface ReportItem {
  /** short name, unique in the list */
  id: string;
  /** what a report has to tell */
  item: string;
  outcome: ReportOutcome;
  /** what the session and the result tell */
  words: string;
  /** which published text asks for it */
  source: string;
}

/** What a session tells of its test beside the result, for the top and the end of a page. */
export interface TestReport {
  /** whether the result may be called planned, in words */
  planned: {isPlanned: boolean; words: string};
  /** who knew which arm was driven */
  blind: string;
  items: ReportItem[];
}
