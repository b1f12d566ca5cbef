import {execFileSync} from "node:child_process";
import {existsSync, mkdirSync, readFileSync, writeFileSync} from "node:fs";
import {join} from "node:path";

/** Files that name the version of the library, each with the place where it stands. */
const NAMED_IN = /** @type {[string, RegExp][]} */ ([
  ["lib/package.json", /("name": "fairpull",\s+"version": ")[^"]+/],
  ["lib/result/version.ts", /(VERSION = ")[^"]+/],
  ["lib/CITATION.cff", /(^version: )\S+/m],
  ["package-lock.json", /("lib": \{\s+"name": "fairpull",\s+"version": ")[^"]+/],
]);
const CHANGE_LOG = "lib/CHANGELOG.md";
const VERSION = /^(0|[1-9]\d*)\.(0|[1-9]\d*)\.(0|[1-9]\d*)$/;

/**
 * @typedef {object} Release
 * @property {string[]} problems why nothing can be released; empty = it can
 * @property {Map<string, string>} files new texts by path, from the top of the repository
 * @property {string} tag
 */

/**
 * What a release would write, and what stands against it. Writes nothing.
 *
 * @param {string} root
 * @param {string | undefined} version
 * @returns {Promise<Release>}
 */
export async function planRelease(root, version) {
  /** @type {string[]} */
  const problems = [];
  const files = new Map();
  const read = (/** @type {string} */ file) => readFileSync(join(root, file), "utf8");
  const now = JSON.parse(read("lib/package.json")).version;
  const tag = `v${version}`;
  const tags = git(root, "tag", "--list").split("\n").filter(Boolean);
  if (version === undefined || !VERSION.test(version)) {
    return {
      problems: [`"${version ?? ""}" is no version; write npm run release -- 0.2.0 [--dry-run]`],
      files,
      tag,
    };
  }
  const dirty = git(root, "status", "--porcelain").split("\n").filter(Boolean);
  if (dirty.length > 0)
    problems.push(
      `the tree is not clean (${dirty
        .slice(0, 5)
        .map(line => line.slice(3))
        .join(", ")}${dirty.length > 5 ? ", …" : ""}); commit or remove it first`,
    );
  if (tags.includes(tag)) problems.push(`${tag} is released already`);
  if (before(version, now)) problems.push(`${version} is older than ${now}`);
  else if (version === now && tags.some(name => VERSION.test(name.slice(1)) && !before(name.slice(1), now)))
    problems.push(`${now} or a later one is tagged; name a higher version`);

  const log = read(CHANGE_LOG);
  const [, heading, entry = ""] = /^## (\S+)\n([\s\S]*?)(?=^## |(?![\s\S]))/m.exec(log) ?? [];
  if (heading !== "Unreleased" && heading !== version)
    problems.push(
      `${CHANGE_LOG} opens with "## ${heading ?? ""}"; open an entry "## Unreleased" or "## ${version}"`,
    );
  if (!/^\s*\*\*Numbers that change:\*\* \S/.test(entry))
    problems.push(
      `the entry of ${CHANGE_LOG} does not open with "**Numbers that change:** …", also where none do`,
    );
  if (heading === "Unreleased") files.set(CHANGE_LOG, log.replace("## Unreleased\n", `## ${version}\n`));
  for (const [file, place] of NAMED_IN) {
    const text = read(file);
    if (!place.test(text)) problems.push(`${file} does not name the version where it should`);
    else if (version !== now) files.set(file, text.replace(place, `$1${version}`));
  }
  const last = tags
    .filter(name => VERSION.test(name.slice(1)))
    .sort((a, b) => (before(a.slice(1), b.slice(1)) ? -1 : 1))
    .at(-1);
  await planTemplates(root, {version, last, problems, files});
  return {problems, files, tag};
}

/**
 * Every notebook that changed since the last release has a new version and keeps the old one; one that does not admit the new
 * version of the library gets a version of its own that does.
 *
 * @param {string} root
 * @param {{version: string, last: string | undefined, problems: string[], files: Map<string, string>}} release
 */
async function planTemplates(root, {version, last, problems, files}) {
  const [{listTemplates}, {isInRange}, {notebookText}] = await Promise.all([
    built("templates/store.js"),
    built("notebook/version-range.js"),
    built("notebook/write.js"),
  ]);
  for (const template of listTemplates(join(root, "notebooks"))) {
    const folder = `notebooks/${template.name}`;
    const was = last && released(root, last, `${folder}/notebook.ipynb`);
    if (was) {
      const then = JSON.parse(was).metadata.fairpull.version;
      const text = notebookText(template.notebook);
      if (then === template.version && was !== text)
        problems.push(
          `${folder} was changed since ${last} and is still ${then}: give it a new version, keep the old one in versions/`,
        );
      if (then !== template.version && !existsSync(join(root, folder, "versions", `${then}.ipynb`)))
        problems.push(
          `${folder}/versions/${then}.ipynb is missing: ${last} released it, and upgrade needs it`,
        );
    }
    const about = template.notebook.metadata.fairpull;
    if (isInRange(version, about.requires)) continue;
    const [major, minor, patch] = template.version.split(".").map(Number);
    const next = `${major}.${minor}.${patch + 1}`;
    const log = readFileSync(join(root, folder, "CHANGELOG.md"), "utf8");
    files.set(
      `${folder}/versions/${template.version}.ipynb`,
      readFileSync(join(root, folder, "notebook.ipynb"), "utf8"),
    );
    for (const file of ["notebook.ipynb", "instructor.ipynb"]) {
      if (!existsSync(join(root, folder, file))) continue;
      const notebook = JSON.parse(readFileSync(join(root, folder, file), "utf8"));
      notebook.metadata.fairpull = {...about, version: next, requires: `^${version}`};
      files.set(`${folder}/${file}`, `${JSON.stringify(notebook, null, 1)}\n`);
    }
    files.set(
      `${folder}/CHANGELOG.md`,
      log.replace(
        /^## /m,
        `## ${next}\n\n**Numbers that change:** none.\n\n- Needs fairpull ${version}.\n\n## `,
      ),
    );
  }
}

/**
 * `npm run release -- VERSION [--dry-run]`: version, change log, versions of the notebooks, commit and tag, in one command. Nothing is
 * written where something stands against it, or with --dry-run. Nothing is pushed or published.
 *
 * @param {string} root
 * @param {string[]} args
 * @param {{check?: (root: string) => Promise<number>}} steps what must pass before anything is written
 * @returns {Promise<number>} exit code: 0 = released, or could be; 1 = something stands against it
 */
export async function release(root, args, {check = async () => 0} = {}) {
  const isDry = args.includes("--dry-run");
  const version = args.find(word => !word.startsWith("-"));
  const {problems, files, tag} = await planRelease(root, version);
  if (problems.length > 0) {
    for (const problem of problems) process.stderr.write(`release: ${problem}\n`);
    return 1;
  }
  const words = [...files.keys()].map(file => `  ${file}\n`).join("") || "  nothing\n";
  if (isDry) {
    process.stdout.write(`release: ${tag} would write\n${words}and commit and tag it; nothing was written\n`);
    return 0;
  }
  if ((await check(root)) !== 0) return 1;
  for (const [file, text] of files) {
    mkdirSync(join(root, file, ".."), {recursive: true});
    writeFileSync(join(root, file), text);
  }
  git(root, "add", "--all");
  if (files.size > 0) git(root, "commit", "--quiet", "--message", `release: ${version}`);
  git(root, "tag", "--annotate", tag, "--message", `fairpull ${version}`);
  process.stdout.write(`release: ${tag} wrote\n${words}look at it, then git push --follow-tags\n`);
  return 0;
}

/**
 * @param {string} root
 * @param {...string} args
 */
function git(root, ...args) {
  return execFileSync("git", args, {cwd: root, encoding: "utf8", maxBuffer: 2 ** 26});
}

/**
 * A file as a tag has it, or null.
 *
 * @param {string} root
 * @param {string} tag
 * @param {string} file
 */
function released(root, tag, file) {
  try {
    return execFileSync("git", ["show", `${tag}:${file}`], {
      cwd: root,
      encoding: "utf8",
      stdio: ["ignore", "pipe", "ignore"],
    });
  } catch {
    return null;
  }
}

/**
 * True where version `a` is older than `b`.
 *
 * @param {string} a
 * @param {string} b
 */
function before(a, b) {
  const [left, right] = [a, b].map(text => text.split(".").map(Number));
  const place = left.findIndex((part, i) => part !== right[i]);
  return place >= 0 && left[place] < right[place];
}

/** @param {string} file of the built library beside this file */
function built(file) {
  return import(new URL(`../../dist/${file}`, import.meta.url).href);
}
