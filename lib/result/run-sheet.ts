/** Cells of a row of the run sheet, as they were typed. */
export type SheetCell =
  | "start"
  | "air"
  | "intake"
  | "coolant"
  | "fuel"
  | "tyresCold"
  | "tyresHot"
  | "wind"
  | "traffic"
  | "guess"
  | "remarks";

/** One row of the run sheet: a settling run or a counted one. */
export interface SheetRow {
  /** null for a settling run */
  run: number | null;
  /** arm or letter, null for a settling run */
  arm: string | null;
  direction: "out" | "back";
  driven: boolean;
  /** declared void before its time was seen */
  isVoid: boolean;
  cells: Partial<Record<SheetCell, string>>;
}

/** The file that a run sheet saves and `gather --sheet` reads. */
export interface RunSheet {
  format: "fairpull.sheet/1";
  /** lock of the plan that it was printed for */
  locked: string;
  /** how often it was saved, this time among them */
  saves: number;
  /** clock of the phone when it was saved, ISO 8601 */
  saved: string;
  /** words for the whole day */
  day: string;
  /** what was ticked before the first counted run */
  ticked: string[];
  rows: SheetRow[];
}
