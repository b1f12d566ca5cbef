import {lstatSync} from "node:fs";
import path from "node:path";

/** What is wrong with a file name that somebody else's page gives, in words; null where it names a place inside a folder. */
export function nameProblem(name: string): string | null {
  if (name === "" || name.includes("\0")) return "is no file name";
  if (path.posix.isAbsolute(name) || path.win32.isAbsolute(name) || /^[a-z]:/i.test(name))
    return "is absolute";
  if (name.split(/[\\/]/).includes("..")) return "leaves the data folder";
  return null;
}

/**
 * Whether a file lies in a folder as a plain file, with no link on the way.
 *
 * @param folder absolute path, taken as it is
 * @returns null where it does, else "missing" or what is wrong in words
 */
export function fileProblem(folder: string, name: string): string | null {
  const wrong = nameProblem(name);
  if (wrong !== null) return wrong;
  let place = folder;
  const parts = name.split("/").filter(part => part !== "" && part !== ".");
  for (const [index, part] of parts.entries()) {
    place = path.join(place, part);
    const stat = lstatSync(place, {throwIfNoEntry: false});
    if (!stat) return "missing";
    if (stat.isSymbolicLink()) return "is a link";
    const isLast = index === parts.length - 1;
    if (isLast ? !stat.isFile() : !stat.isDirectory()) return isLast ? "is no regular file" : "missing";
  }
  return null;
}
