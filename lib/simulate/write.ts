import {
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  renameSync,
  rmSync,
  statSync,
  writeFileSync,
} from "node:fs";
import {basename, dirname, join, resolve} from "node:path";
import {InputError} from "../result/error.ts";
import type {SimulatedCoastDay} from "./coast-day.ts";
import {coastDayFiles} from "./coast-files.ts";
import type {SimulatedDay} from "./day.ts";
import {dayFiles} from "./files.ts";

/** How a simulated day is written. */
export interface WriteDayOptions {
  /** replace the files of this day in a folder that is there already, and touch no other; default false */
  overwriteOwn?: boolean;
}

/**
 * Writes every file of a simulated day into a folder. They are written into a folder beside it and moved when all are
 * complete, so that none is ever half written.
 *
 * @param folder made with the folders above it; must be new or empty unless `overwriteOwn` is set
 * @returns names of the files: logs, session, truth
 * @throws {InputError} exit code 2: something is in the folder, it is a file, or it cannot be written
 */
export function writeDay(
  day: SimulatedDay | SimulatedCoastDay,
  folder: string,
  {overwriteOwn = false}: WriteDayOptions = {},
): string[] {
  const target = resolve(folder);
  requireRoom(target, folder, overwriteOwn);
  const files =
    "roadLoad" in day.truth ? coastDayFiles(day as SimulatedCoastDay) : dayFiles(day as SimulatedDay);
  let beside: string | null = null;
  try {
    mkdirSync(dirname(target), {recursive: true});
    beside = mkdtempSync(join(dirname(target), `.${basename(target)}-`));
    for (const [name, text] of files) writeFileSync(join(beside, name), text);
    mkdirSync(target, {recursive: true});
    for (const name of files.keys()) renameSync(join(beside, name), join(target, name));
  } catch (error) {
    const {code, message} = error as NodeJS.ErrnoException;
    throw new InputError(2, {
      code: "folder-not-written",
      file: folder,
      words: `cannot be written (${code ?? message})`,
      hint: "name a folder where files can be made",
    });
  } finally {
    if (beside !== null) rmSync(beside, {recursive: true, force: true});
  }
  return [...files.keys()];
}

function requireRoom(target: string, folder: string, overwriteOwn: boolean): void {
  if (!existsSync(target)) return;
  if (!statSync(target).isDirectory()) {
    throw new InputError(2, {
      code: "not-a-folder",
      file: folder,
      words: "is a file",
      hint: "name a new folder",
    });
  }
  const [first, ...others] = readdirSync(target).sort();
  if (first === undefined || overwriteOwn) return;
  throw new InputError(2, {
    code: "folder-not-empty",
    file: folder,
    words: `is not empty: it holds "${first}"${others.length ? ` and ${others.length} more` : ""}`,
    hint: "name a new folder, or add --overwrite-own to replace the files of a simulated day and leave all others",
  });
}
