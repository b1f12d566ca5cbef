import {execFileSync} from "node:child_process";
import {existsSync, readdirSync} from "node:fs";
import {join, relative, sep} from "node:path";
import {fileURLToPath} from "node:url";

export const ROOT = fileURLToPath(new URL("../..", import.meta.url));

/** What .gitignore names, for a copy without git. */
const IGNORED = new Set([".git", "node_modules", "dist", "out", "coverage", ".ipynb_checkpoints"]);

/**
 * The files of the repository, relative to its root, with "/", those included that are new and not yet added. From git,
 * or by a walk where git or the checkout's .git is missing.
 */
export function trackedFiles(): string[] {
  try {
    // a checkout by another user (a container in CI) is refused unless it is named
    const args = ["-c", "safe.directory=*", "ls-files", "-z", "--cached", "--others", "--exclude-standard"];
    const listed = execFileSync("git", args, {
      cwd: ROOT,
      encoding: "utf8",
      stdio: ["ignore", "pipe", "ignore"],
    });
    return [...new Set(listed.split("\0"))]
      .filter(file => file !== "" && existsSync(join(ROOT, file)))
      .sort();
  } catch {
    return walk(ROOT).sort();
  }
}

function walk(folder: string): string[] {
  return readdirSync(folder, {withFileTypes: true}).flatMap(entry => {
    if (IGNORED.has(entry.name)) return [];
    const path = join(folder, entry.name);
    return entry.isDirectory() ? walk(path) : [relative(ROOT, path).split(sep).join("/")];
  });
}
