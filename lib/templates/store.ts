import {existsSync, readdirSync, readFileSync, statSync} from "node:fs";
import {join} from "node:path";
import {fileURLToPath} from "node:url";
import {notebookAbout} from "../notebook/about.ts";
import type {Notebook} from "../notebook/notebook.ts";
import {parseNotebook} from "../notebook/read.ts";
import {InputError} from "../result/error.ts";
import {editDistance} from "../units/unit.ts";
import {compareVersions, isVersion} from "./version.ts";

/** One notebook of the pack, as it is now. */
export interface Template {
  /** question it answers: the name of its folder */
  name: string;
  title: string;
  version: string;
  folder: string;
  notebook: Notebook;
}

/** Where the notebooks of this installation are: beside the compiled library, or at the top of the repository. */
export function templatesFolder(): string {
  return firstThatExists(["../notebooks/", "../../notebooks/"]);
}

/** Where the demo data of this installation are. */
export function demoFolder(): string {
  return firstThatExists(["../demo/", "../../data-demo/"]);
}

/** Every template, sorted by name. */
export function listTemplates(folder: string = templatesFolder()): Template[] {
  return notebookNames(folder).map(name => readTemplate(folder, name));
}

/** Folders that hold a notebook, sorted, down to one level below another: "band-time", "workshop/1-one-run-each". */
export function notebookNames(folder: string): string[] {
  const has = (name: string) => existsSync(join(folder, name, "notebook.ipynb"));
  const below = (name: string) =>
    existsSync(join(folder, name)) && statSync(join(folder, name)).isDirectory()
      ? readdirSync(join(folder, name)).map(inner => `${name}/${inner}`)
      : [];
  if (!existsSync(folder)) return [];
  return readdirSync(folder)
    .flatMap(name => (has(name) ? [name] : below(name).filter(has)))
    .sort();
}

/** @throws {InputError} exit code 2: no such template, with the nearest names */
export function templateNamed(name: string, folder: string = templatesFolder()): Template {
  const all = listTemplates(folder);
  const found = all.find(template => template.name === name);
  if (found) return found;
  const near = all
    .map(template => ({name: template.name, edits: editDistance(name, template.name)}))
    .filter(({name: other, edits}) => edits <= Math.max(2, other.length / 2))
    .sort((a, b) => a.edits - b.edits)
    .map(template => template.name);
  throw new InputError(2, {
    code: "template-unknown",
    words: `there is no notebook for "${name}"`,
    hint:
      near.length > 0
        ? `did you mean ${near.slice(0, 3).join(" or ")}?`
        : `there are ${all.map(t => t.name).join(", ")}`,
  });
}

/** Versions of a template that can be read, oldest first; the last one is the present version. */
export function templateVersions({folder, version}: Template): string[] {
  const old = join(folder, "versions");
  const earlier = existsSync(old)
    ? readdirSync(old)
        .map(file => file.replace(/\.ipynb$/, ""))
        .filter(name => isVersion(name) && name !== version)
    : [];
  return [...earlier.sort(compareVersions), version];
}

/**
 * A template as it was at some version.
 *
 * @throws {InputError} exit code 2: that version is not kept, with those that are; or it is newer than the present one
 */
export function templateAt(template: Template, version: string): Notebook {
  if (version === template.version) return template.notebook;
  const kept = templateVersions(template);
  if (!kept.includes(version)) {
    const isNewer = isVersion(version) && compareVersions(version, template.version) > 0;
    throw new InputError(2, {
      code: isNewer ? "template-newer" : "template-version",
      words: isNewer
        ? `the notebook was made from version ${version} of ${template.name}; this library knows ${template.version} at most`
        : `version ${version} of ${template.name} is not kept; there are ${kept.join(", ")}`,
      hint: isNewer ? "install a newer fairpull" : "mend fairpull.version in the notebook's metadata",
    });
  }
  const file = join(template.folder, "versions", `${version}.ipynb`);
  return parseNotebook(readFileSync(file, "utf8"), file);
}

function readTemplate(folder: string, name: string): Template {
  const file = join(folder, name, "notebook.ipynb");
  const notebook = parseNotebook(readFileSync(file, "utf8"), file);
  const about = notebookAbout(notebook, file);
  return {
    name,
    title: about.title ?? name,
    version: about.template?.version ?? "0.0.0",
    folder: join(folder, name),
    notebook,
  };
}

function firstThatExists(paths: readonly string[]): string {
  const places = paths.map(path => fileURLToPath(new URL(path, import.meta.url)));
  return places.find(place => existsSync(place)) ?? places[places.length - 1];
}
