import {readFileSync} from "node:fs";
import {basename, join} from "node:path";
import {InputError} from "../result/error.ts";
import type {GatherDocument} from "../result/gather-document.ts";
import type {Session} from "../result/session.ts";
import {comment, runLines, spanWords} from "./draft-session.ts";
import type {Gathered, GatheredRun} from "./gather.ts";
import {matchSheet} from "./match-sheet.ts";
import {readSheet} from "./read-sheet.ts";
import {readSessionBytes} from "./session.ts";
import {lastSheet, sheetLines} from "./sheet-lines.ts";

export interface FillOptions {
  /** files that the run sheet saved, none where the arms are left to fill in */
  sheets: readonly {file: string; text: string}[];
  /** path of a log as the session names it */
  pathOf(file: string): string;
}

/** A line `runs:` that holds nothing yet. */
const EMPTY_RUNS = /^runs:[ \t]*(?:\[\s*\]|~|null)?[ \t]*(?:#.*)?\r?\n?/m;

/**
 * The text of a planned session with the runs of a folder, labelled by its run sheet where there is one. All that the session says
 * stays as it is written; the runs come behind it. `gathered` has the runs as the session numbers them.
 *
 * @throws {InputError} the sheet is of another plan, cannot be read, or cannot be matched with the runs
 */
export function fillSession(
  session: Session,
  gathered: Gathered,
  {sheets, pathOf}: FillOptions,
): {text: string; sheet: GatherDocument["sheet"]; gathered: Gathered} {
  const placed = gathered.runs.filter(({run}) => run !== null);
  const before = readFileSync(join(session.folder, basename(session.file)), "utf8").replace(EMPTY_RUNS, "");
  const head = before.endsWith("\n") ? before : `${before}\n`;
  if (sheets.length === 0) {
    return {
      text: `${head}runs:\n${placed.flatMap(run => runLines(run, gathered, {pathOf})).join("\n")}\n`,
      sheet: null,
      gathered,
    };
  }
  const read = sheets.map(({file, text}) => ({file, sheet: readSheet(text, file)}));
  for (const {file, sheet} of read) requirePlan(session, file, sheet.locked);
  const {file, sheet, notes} = lastSheet(read);
  const match = matchSheet(placed, sheet, file);
  notes.push(...match.notes);
  const lines: string[] = [];
  const rest: string[] = [];
  const labelled = new Map<GatheredRun, Pick<GatheredRun, "run" | "leftOut">>();
  placed.forEach((run, i) => {
    const row = match.rows[i];
    if (row === null || row.run === null) {
      const leftOut = row === null ? "on no row of the run sheet" : "a settling run, says the run sheet";
      labelled.set(run, {run: null, leftOut});
      rest.push(comment(`- ${pathOf(run.file)}, ${spanWords(run)}: ${leftOut}`));
      return;
    }
    const place = {run: labelled.size - rest.length + 1, leftOut: null};
    labelled.set(run, place);
    const noted = sheetLines(row, {
      direction: run.direction,
      at: run.at,
      refit: session.plan?.refit ?? false,
    });
    notes.push(...noted.notes);
    lines.push(...runLines({...run, ...place}, gathered, {pathOf, noted: noted.lines}));
  });
  const runs = placed.length - rest.length;
  if (rest.length > 0) lines.push("# Driven too, and not part of this session:", ...rest);
  const day = sheet.day === "" ? [] : [comment(`run sheet, of the day: ${sheet.day}`)];
  const text = `${[head.trimEnd(), ...day, "runs:", ...lines].join("\n")}\n`;
  readSessionBytes(new TextEncoder().encode(text), {file: session.file, folder: session.folder});
  return {
    text,
    sheet: {file, by: match.by, runs, notes},
    gathered: {...gathered, runs: gathered.runs.map(run => ({...run, ...labelled.get(run)}))},
  };
}

function requirePlan(session: Session, file: string, locked: string): void {
  if (session.plan?.locked === locked) return;
  throw new InputError(2, {
    code: "sheet-other-plan",
    file,
    words: `the sheet is of the plan ${locked.slice(0, 15)}…, and ${session.file} has ${session.plan?.locked ? `the plan ${session.plan.locked.slice(0, 15)}…` : "no locked plan"}`,
    hint: "give the sheet that was printed for this session",
  });
}
