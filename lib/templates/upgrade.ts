import {existsSync, readFileSync, renameSync, statSync, writeFileSync} from "node:fs";
import {basename, dirname, extname, join, resolve} from "node:path";
import {notebookAbout} from "../notebook/about.ts";
import {parseNotebook} from "../notebook/read.ts";
import {notebookText} from "../notebook/write.ts";
import {InputError} from "../result/error.ts";
import {openConflicts} from "./conflict.ts";
import {type MergeReport, mergeNotebooks} from "./merge.ts";
import {sessionSetting, withSession} from "./settings.ts";
import {templateAt, templateNamed} from "./store.ts";

/** What an upgrade did, or would do. */
export interface Upgrade {
  /** the notebook, as it was named */
  file: string;
  template: string;
  from: string;
  to: string;
  /** null where the notebook is at the present version already */
  report: MergeReport | null;
  /** copy of the notebook as it was, or null where nothing was written */
  backup: string | null;
  /** marked cells that wait to be settled */
  conflicts: number;
}

export interface UpgradeOptions {
  /** say what would be done, write nothing */
  dryRun?: boolean;
  cwd?: string;
  /** folder of the templates, default that of this installation */
  templates?: string;
}

/**
 * Carries an analyst's notebook to the present version of its template. The notebook as it was stays beside it.
 * A second time changes nothing.
 *
 * @param path the notebook, or the folder that has it as notebook.ipynb
 * @throws {InputError} exit code 2, before anything is written: no notebook, one without template or with a version that is
 *   not kept, newer than this library, or with conflicts of an earlier upgrade that are not settled
 */
export function upgradeNotebook(
  path: string,
  {dryRun = false, cwd = process.cwd(), templates}: UpgradeOptions = {},
): Upgrade {
  const file = notebookIn(path, cwd);
  const at = resolve(cwd, file);
  const bytes = readBytes(at, file);
  const mine = parseNotebook(bytes.toString("utf8"), file);
  const about = notebookAbout(mine, file).template;
  if (!about) {
    throw new InputError(2, {
      code: "template-none",
      file,
      words: "the notebook does not say which template it was made from",
      hint: "fairpull.template and fairpull.version stand in its metadata; fairpull new makes a notebook that has them",
    });
  }
  const template = templateNamed(about.template, templates);
  const base = templateAt(template, about.version);
  const waiting = openConflicts(mine).length;
  const done = {file, template: template.name, from: about.version, to: template.version};
  if (about.version === template.version) return {...done, report: null, backup: null, conflicts: waiting};
  if (waiting > 0) {
    throw new InputError(2, {
      code: "template-conflicts",
      file,
      words: `${waiting} marked cells of an earlier upgrade are not settled (${openConflicts(mine)
        .map(({id}) => id)
        .join(", ")})`,
      hint: "take over what you need from each, delete it, and upgrade again",
    });
  }
  const session = sessionSetting(mine);
  const sited = (notebook: typeof base) => (session === null ? notebook : withSession(notebook, session));
  const {notebook, report} = mergeNotebooks(
    {base: sited(base), template: sited(template.notebook), mine},
    {version: template.version},
  );
  const text = notebookText(notebook);
  parseNotebook(text, file); // what is written can be read again
  const conflicts = report.conflicts.length;
  if (dryRun) return {...done, report, backup: null, conflicts};
  const backup = freeName(file, about.version, cwd);
  writeFileSync(resolve(cwd, backup), bytes, {flag: "wx"});
  writeFileSync(`${at}.new`, text);
  renameSync(`${at}.new`, at);
  return {...done, report, backup, conflicts};
}

function notebookIn(path: string, cwd: string): string {
  const at = resolve(cwd, path);
  if (!existsSync(at)) {
    throw new InputError(2, {
      code: "notebook-unreadable",
      file: path,
      words: "there is no such file or folder",
      hint: "check the path",
    });
  }
  if (!statSync(at).isDirectory()) return path;
  const inside = join(path, "notebook.ipynb");
  if (existsSync(resolve(cwd, inside))) return inside;
  throw new InputError(2, {
    code: "notebook-unreadable",
    file: path,
    words: "the folder has no notebook.ipynb",
    hint: "name the notebook itself",
  });
}

function readBytes(at: string, file: string): Buffer {
  try {
    return readFileSync(at);
  } catch (error) {
    const words = `it cannot be read (${(error as NodeJS.ErrnoException).code ?? error})`;
    throw new InputError(2, {code: "notebook-unreadable", file, words, hint: "check the path"});
  }
}

/** A name beside the notebook that no file has. */
function freeName(file: string, version: string, cwd: string): string {
  const stem = join(dirname(file), basename(file, extname(file)));
  for (let n = 1; ; n++) {
    const name = `${stem}.was-${version}${n === 1 ? "" : `-${n}`}.ipynb`;
    if (!existsSync(resolve(cwd, name))) return name;
  }
}
