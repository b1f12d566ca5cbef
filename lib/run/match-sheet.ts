import {InputError} from "../result/error.ts";
import type {RunSheet, SheetRow} from "../result/run-sheet.ts";
import {clockSeconds} from "./clock.ts";

const DAY_S = 86_400;
/** A start time is written within this of the run [s]: before the roll-in, or on the way back. */
const NEAR_S = 180;
/** Logs tell the time of another zone: it differs by whole quarters of an hour [s]. */
const ZONE_S = 900;

/** Which row of a sheet each run of the logs is. */
export interface SheetMatch {
  /** by run; null = no row of the sheet */
  rows: (SheetRow | null)[];
  by: "clock" | "order";
  /** what did not fit, in words */
  notes: string[];
}

/**
 * Finds the row of each run: by clock time where every run and every row that was driven has one, else by order where they are
 * as many. Nothing is guessed.
 *
 * @param runs  in the order driven; `at` as a session writes it
 * @param file  name of the sheet for messages
 * @throws {InputError} 1: runs and rows cannot be told to be the same
 */
export function matchSheet(runs: readonly {at: string | null}[], sheet: RunSheet, file: string): SheetMatch {
  const driven = sheet.rows.filter(row => row.driven);
  if (driven.length === 0) {
    throw new InputError(1, {
      code: "sheet-empty",
      file,
      words: "no row of the sheet is ticked as driven",
      hint: "tick the runs that were driven, and save it again",
    });
  }
  const clocks = runs.map(({at}) => (at === null ? null : clockSeconds(at)));
  const starts = driven.map(({cells}) => (cells.start === undefined ? null : clockSeconds(cells.start)));
  if ([...clocks, ...starts].every(time => time !== null)) {
    const found = byClock(clocks as number[], starts as number[]);
    if (found !== null) return named(found, driven);
  }
  return byOrder(runs.length, driven, file);
}

/** Row of each run, −1 for none; null where no shift of the clocks brings half of them together. */
function byClock(clocks: readonly number[], starts: readonly number[]): number[] | null {
  let best: {rows: number[]; n: number; off: number} | null = null;
  for (let shift = -DAY_S / 2; shift <= DAY_S / 2; shift += ZONE_S) {
    const rows: number[] = [];
    let [next, off] = [0, 0];
    const gap = (run: number, row: number) => Math.abs(wrapped(clocks[run] - starts[row] - shift));
    clocks.forEach((_, run) => {
      const row = nearest(starts.length, k => gap(run, k));
      // each must be the other's nearest, so that a run beside the sheet takes no row from its neighbour
      const isMutual =
        gap(run, row) <= NEAR_S && nearest(clocks.length, k => gap(k, row)) === run && row >= next;
      rows.push(isMutual ? row : -1);
      if (!isMutual) return;
      off += gap(run, row);
      next = row + 1;
    });
    const n = rows.filter(row => row >= 0).length;
    if (best === null || n > best.n || (n === best.n && off < best.off)) best = {rows, n, off};
  }
  return best !== null && 2 * best.n > Math.max(clocks.length, starts.length) ? best.rows : null;
}

/** The first of `length` places whose distance is least. */
function nearest(length: number, distance: (k: number) => number): number {
  let least = 0;
  for (let k = 1; k < length; k++) if (distance(k) < distance(least)) least = k;
  return least;
}

/** Seconds from −12 to 12 h. */
function wrapped(seconds: number): number {
  return ((((seconds + DAY_S / 2) % DAY_S) + DAY_S) % DAY_S) - DAY_S / 2;
}

function named(found: readonly number[], driven: readonly SheetRow[]): SheetMatch {
  const missed = driven.filter((_, k) => !found.includes(k));
  const alone = found.flatMap((row, i) => (row < 0 ? [i + 1] : []));
  return {
    rows: found.map(row => (row < 0 ? null : driven[row])),
    by: "clock",
    notes: [
      ...missed.map(
        row =>
          `${rowName(row)} is ticked as driven at ${row.cells.start}, and no log holds a run of that time`,
      ),
      ...(alone.length === 0
        ? []
        : [`run ${alone.join(", ")} of the logs is on no row of the sheet by its time`]),
    ],
  };
}

function byOrder(runs: number, driven: readonly SheetRow[], file: string): SheetMatch {
  const counted = driven.filter(({run}) => run !== null);
  if (runs === driven.length) return {rows: [...driven], by: "order", notes: []};
  if (runs === counted.length) {
    return {
      rows: counted,
      by: "order",
      notes: [
        `the logs hold ${runs} runs, as many as the sheet without its settling runs, so these are taken as not recorded`,
      ],
    };
  }
  throw new InputError(1, {
    code: "sheet-mismatch",
    file,
    words: `${driven.length} rows are ticked as driven${counted.length === driven.length ? "" : `, ${counted.length} of them counted`}, and the logs hold ${runs} runs through the band`,
    hint: "write the start time of every row, for logs that tell the time, or take away the logs of other runs",
  });
}

/** "row 3", "settling row" */
export function rowName({run}: SheetRow): string {
  return run === null ? "a settling row" : `row ${run}`;
}
