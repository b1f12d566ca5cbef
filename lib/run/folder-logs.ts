import {type Dirent, readdirSync, realpathSync, statSync} from "node:fs";
import {join} from "node:path";
import {type ReadLogOptions, readTimedLog} from "../log/read.ts";
import {InputError} from "../result/error.ts";
import type {Log} from "../result/log.ts";

/** What a folder holds. File names are relative to it, with "/". */
export interface FolderLogs {
  logs: Log[];
  /** everything that is no log, with the reason */
  skipped: {file: string; reason: string}[];
}

/** All that finding runs, directions, gears and doubts looks at: of a log larger than memory nothing else is held. */
const GATHERED = [
  "speed",
  "vehicle-speed",
  "engine-speed",
  "acceleration",
  "pedal",
  "throttle",
  "brake",
  "gear",
  "satellites",
  "hdop",
  "speed-accuracy",
  "latitude",
  "longitude",
  "course",
];

/** Ends of names of what lies beside logs: sessions, sheets, pages, notebooks, pictures. */
const NO_LOG = /\.(ya?ml|json|html?|ipynb|md|pdf|png|jpe?g|svg)$/i;

/**
 * Reads every log in a folder and the folders in it, in order of name with numbers by value ("run-2" before "run-10").
 *
 * A file whose name ends as those of pages, sessions or pictures do is not opened. Links are followed, but no folder is walked and no file read twice, whatever leads to it; copies of the same bytes are read
 * once. Hidden files and folders (a name with a leading point) and `node_modules` are not looked into. All of that is told
 * in `skipped`.
 *
 * @throws {InputError} 2: the folder is not there, is a file or may not be read
 */
export function readFolder(
  folder: string,
  options: Omit<ReadLogOptions, "name"> & {shownAs?: string} = {},
): FolderLogs {
  const {shownAs = folder, ...read} = options;
  const result: FolderLogs = {logs: [], skipped: []};
  /** real path → name under which it was met first */
  const met = new Map<string, string>();
  const bytes = new Map<string, string>();
  const skip = (file: string, reason: string) => result.skipped.push({file, reason});

  const walk = (path: string, name: string, entries: Dirent[]): void => {
    for (const entry of entries.sort((a, b) => byName(a.name, b.name))) {
      const file = name === "" ? entry.name : `${name}/${entry.name}`;
      if (entry.name.startsWith(".")) skip(file, "hidden, not looked into");
      else if (entry.name === "node_modules") skip(file, "holds programs, not looked into");
      else visit(join(path, entry.name), file);
    }
  };
  const visit = (path: string, file: string): void => {
    try {
      const real = realpathSync(path);
      const before = met.get(real);
      const isFolder = statSync(real).isDirectory();
      if (before !== undefined) {
        skip(file, `a link to ${before === "" ? "the folder itself" : before}, which is looked at already`);
        return;
      }
      met.set(real, file);
      if (isFolder) walk(path, file, readdirSync(path, {withFileTypes: true}));
      else if (NO_LOG.test(file)) skip(file, "by its name no log");
      else readOne(path, file);
    } catch (error) {
      skip(file, systemWords(error));
    }
  };
  const readOne = (path: string, file: string): void => {
    try {
      const log = readTimedLog(path, {only: {quantities: GATHERED}, ...read, name: file});
      const twin = bytes.get(log.sha256);
      if (twin !== undefined) {
        skip(file, `the same bytes as ${twin}`);
        return;
      }
      bytes.set(log.sha256, file);
      result.logs.push(log);
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      const {words, line, hint} = error.details;
      skip(file, `${line === undefined ? "" : `line ${line}: `}${words}${hint ? `; ${hint}` : ""}`);
    }
  };

  let entries: Dirent[];
  try {
    met.set(realpathSync(folder), "");
    entries = readdirSync(folder, {withFileTypes: true});
  } catch (error) {
    const code = (error as NodeJS.ErrnoException).code;
    throw new InputError(2, {
      code: code === "ENOENT" ? "no-such-folder" : code === "ENOTDIR" ? "not-a-folder" : "folder-unreadable",
      words: code === "ENOTDIR" ? "this is a file, a folder of logs is needed" : systemWords(error),
      file: shownAs,
      hint: code === "ENOTDIR" ? "give the folder it lies in, or slice the file" : "check the path",
    });
  }
  walk(folder, "", entries);
  return result;
}

/** Order of file names: runs of digits by their value, then by character; the same on every machine. */
export function byName(a: string, b: string): number {
  const parts = (name: string) => name.match(/\d+|\D+/g) ?? [];
  const [one, other] = [parts(a), parts(b)];
  for (let k = 0; k < Math.min(one.length, other.length); k++) {
    const [p, q] = [one[k], other[k]];
    if (p === q) continue;
    const [m, n] = [Number(p), Number(q)]; // NaN where the part is no number
    if (m < n || m > n) return m - n;
    return p < q ? -1 : 1;
  }
  return one.length - other.length || (a < b ? -1 : a > b ? 1 : 0);
}

function systemWords(error: unknown): string {
  const {code, message, syscall} = error as NodeJS.ErrnoException;
  if (syscall === undefined) throw error; // not the file system's
  if (code === "ELOOP") return "a link that leads back to itself";
  if (code === "ENOENT") return "there is nothing there";
  if (code === "EACCES" || code === "EPERM") return "may not be read";
  return `cannot be read (${code ?? message})`;
}
