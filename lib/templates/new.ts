import {cpSync, existsSync, mkdirSync, readdirSync, statSync, writeFileSync} from "node:fs";
import {basename, dirname, join, resolve} from "node:path";
import {notebookText} from "../notebook/write.ts";
import {InputError} from "../result/error.ts";
import {sessionSetting, withSession} from "./settings.ts";
import {demoFolder, type Template, templateNamed} from "./store.ts";

/** A folder made from a template. */
export interface NewFolder {
  folder: string;
  template: string;
  version: string;
  notebook: string;
  /** session beside the notebook, or null where the template needs none */
  session: string | null;
  readme: string;
}

export interface NewOptions {
  cwd?: string;
  /** folder of the templates, default that of this installation */
  templates?: string;
  /** writes a session of the analyst's own logs to the path given and returns; without it the demo data are copied */
  draft?(session: string): void;
}

/**
 * Makes a folder to work in: the notebook of a question, a session, a README of five lines. It runs at once, on a copy of the demo
 * data or on the session that `draft` writes.
 *
 * @throws {InputError} exit code 2: no such template; the folder is there and not empty
 */
export function newFolder(question: string, folder: string, options: NewOptions = {}): NewFolder {
  const {cwd = process.cwd(), templates, draft} = options;
  const template = templateNamed(question, templates);
  const at = resolve(cwd, folder);
  requireEmpty(at, folder);
  mkdirSync(at, {recursive: true});
  const named = sessionSetting(template.notebook);
  const session = named === null ? null : "session.yaml";
  if (session !== null) {
    if (draft) draft(join(folder, session));
    else
      cpSync(demoOf(named!, template), at, {recursive: true, filter: path => basename(path) !== "README.md"});
  }
  const notebook = session === null ? template.notebook : withSession(template.notebook, session);
  writeFileSync(join(at, "notebook.ipynb"), notebookText(notebook), {flag: "wx"});
  writeFileSync(
    join(at, "README.md"),
    readme(template, {isDemo: draft === undefined, hasSession: session !== null}),
    {
      flag: "wx",
    },
  );
  return {
    folder,
    template: template.name,
    version: template.version,
    notebook: join(folder, "notebook.ipynb"),
    session: session === null ? null : join(folder, session),
    readme: join(folder, "README.md"),
  };
}

/** The demo scenario that a template's settings name. */
function demoOf(session: string, {name}: Template): string {
  const scenario = join(demoFolder(), dirname(session.replace(/^.*\bdata-demo\//, "")));
  if (existsSync(join(scenario, basename(session)))) return scenario;
  throw new InputError(2, {
    code: "template-demo",
    words: `the demo data of ${name} (${session}) are not in this installation`,
    hint: "give your own logs with --logs",
  });
}

function requireEmpty(at: string, folder: string): void {
  if (!existsSync(at)) return;
  const words = !statSync(at).isDirectory()
    ? "is a file"
    : readdirSync(at).length > 0
      ? "is there and not empty"
      : null;
  if (words !== null) {
    throw new InputError(2, {code: "folder-not-empty", file: folder, words, hint: "name a new folder"});
  }
}

function readme(template: Template, {isDemo, hasSession}: {isDemo: boolean; hasSession: boolean}): string {
  return [
    `# ${template.title}`,
    "",
    `- \`notebook.ipynb\` walks the question; it was made from ${template.name} ${template.version}.`,
    hasSession
      ? `- \`session.yaml\` names question, plan and logs${isDemo ? "; these are the logs of an invented club, put yours in their place" : "; fill in what is left empty"}.`
      : "- Its settings cell holds all it needs.",
    "- `fairpull publish notebook.ipynb` runs it and writes the page; any Jupyter front-end opens it.",
    "- `fairpull upgrade .` carries it to a newer version of the template and keeps your words.",
    "",
  ].join("\n");
}
