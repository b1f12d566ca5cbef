import assert from "node:assert/strict";
import {execFileSync} from "node:child_process";
import {cpSync, existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {dirname, join} from "node:path";
import {afterAll, describe, it} from "vitest";
import {HELD_BACK, pins, wanted} from "../../lib/bin/prepare/newest.mjs";
import {planRelease, release} from "../../lib/bin/prepare/release.mjs";
import {requireBuild} from "./built.ts";
import {ROOT} from "./tracked-files.ts";

const scratch = mkdtempSync(join(tmpdir(), "fairpull-release-"));
afterAll(() => rmSync(scratch, {recursive: true, force: true}));

const NEXT = "## Unreleased\n\n**Numbers that change:** none.\n\n- A word.\n\n";

/** A repository with what a release reads, committed. */
function repository(name: string): {root: string; git: (...args: string[]) => string; edit: Edit} {
  requireBuild();
  const root = join(scratch, name);
  const files = [
    "package.json",
    "package-lock.json",
    "lib/package.json",
    "lib/result/version.ts",
    "lib/CITATION.cff",
    "lib/CHANGELOG.md",
    "notebooks/repeatability",
    "notebooks/workshop/1-one-run-each",
  ];
  for (const file of files) {
    mkdirSync(dirname(join(root, file)), {recursive: true});
    cpSync(join(ROOT, file), join(root, file), {recursive: true});
  }
  const git = (...args: string[]) =>
    execFileSync("git", ["-c", "init.defaultBranch=main", ...args], {cwd: root, encoding: "utf8"});
  git("init", "--quiet");
  git("config", "user.name", "somebody");
  git("config", "user.email", "somebody@example.org");
  git("add", "--all");
  git("commit", "--quiet", "--message", "first");
  const edit: Edit = (file, change) =>
    writeFileSync(join(root, file), change(readFileSync(join(root, file), "utf8")));
  return {root, git, edit};
}
/** Version of a notebook as it is, and the next one that changes nothing but what it needs. */
function versionsOf(name: string): {now: string; next: string} {
  const notebook = readFileSync(join(ROOT, "notebooks", name, "notebook.ipynb"), "utf8");
  const now: string = JSON.parse(notebook).metadata.fairpull.version;
  return {now, next: now.replace(/\d+$/, patch => String(Number(patch) + 1))};
}
type Edit = (file: string, change: (text: string) => string) => void;

const commit = (git: (...args: string[]) => string) => git("commit", "--quiet", "--all", "--message", "next");

describe("npm run release", () => {
  it("tags a first version as it stands, and says so with --dry-run before it does", async () => {
    const {root, git} = repository("first");
    const version = JSON.parse(readFileSync(join(root, "lib", "package.json"), "utf8")).version;
    assert.equal(await release(root, [version, "--dry-run"]), 0);
    assert.equal(git("tag", "--list"), "");
    assert.equal(await release(root, [version]), 0);
    assert.equal(git("tag", "--list").trim(), `v${version}`);
    assert.deepEqual((await planRelease(root, version)).problems, [
      `v${version} is released already`,
      `${version} or a later one is tagged; name a higher version`,
    ]);
  });

  it("writes version, change log and versions of the notebooks, and commits and tags them", async () => {
    const {root, git, edit} = repository("next");
    git("tag", "v0.1.0");
    edit("lib/CHANGELOG.md", log => log.replace("## 0.1.0", `${NEXT}## 0.1.0`));
    commit(git);
    let checked = 0;
    const check = async () => {
      checked++;
      return 0;
    };
    assert.equal(await release(root, ["0.2.0"], {check}), 0);
    assert.equal(checked, 1);
    const read = (file: string) => readFileSync(join(root, file), "utf8");
    assert.equal(JSON.parse(read("lib/package.json")).version, "0.2.0");
    assert.equal(JSON.parse(read("package-lock.json")).packages.lib.version, "0.2.0");
    assert.match(read("lib/result/version.ts"), /VERSION = "0\.2\.0"/);
    assert.match(read("lib/CITATION.cff"), /^version: 0\.2\.0$/m);
    assert.match(read("lib/CHANGELOG.md"), /^## 0\.2\.0\n\n\*\*Numbers that change/m);
    // 0.2.0 is not within ^0.1.0, so the notebooks get a version that admits it, and keep the one that does not
    for (const name of ["repeatability", "workshop/1-one-run-each"]) {
      const {version, requires} = JSON.parse(read(`notebooks/${name}/notebook.ipynb`)).metadata.fairpull;
      const {now, next} = versionsOf(name);
      assert.deepEqual([version, requires], [next, "^0.2.0"]);
      assert.ok(existsSync(join(root, "notebooks", name, "versions", `${now}.ipynb`)));
      const entry = `\n## ${next}\n\n**Numbers that change:** none.\n\n- Needs fairpull 0.2.0.\n\n## ${now}`;
      assert.ok(read(`notebooks/${name}/CHANGELOG.md`).includes(entry));
    }
    assert.equal(
      JSON.parse(read("notebooks/workshop/1-one-run-each/instructor.ipynb")).metadata.fairpull.version,
      versionsOf("workshop/1-one-run-each").next,
    );
    assert.equal(git("status", "--porcelain"), "");
    assert.match(git("log", "-1", "--format=%s %D"), /^release: 0\.2\.0 .*tag: v0\.2\.0/);
  });

  it("refuses what stands against it, and writes nothing", async () => {
    const {root, git, edit} = repository("refused");
    git("tag", "v0.1.0");
    const problemsOf = async (version?: string) => (await planRelease(root, version)).problems.join("\n");
    assert.match(await problemsOf("two"), /"two" is no version; write npm run release -- 0\.2\.0/);
    assert.match(await problemsOf(), /"" is no version/);
    assert.match(await problemsOf("0.0.9"), /0\.0\.9 is older than 0\.1\.0/);
    assert.match(await problemsOf("0.1.1"), /opens with "## 0\.1\.0"; open an entry "## Unreleased"/);
    edit("lib/CHANGELOG.md", log =>
      log.replace("## 0.1.0", "## Unreleased\n\n- Forgot the numbers.\n\n## 0.1.0"),
    );
    assert.match(
      await problemsOf("0.1.1"),
      /the tree is not clean \(lib\/CHANGELOG\.md\); commit or remove it first/,
    );
    commit(git);
    assert.match(await problemsOf("0.1.1"), /does not open with "\*\*Numbers that change:\*\* …"/);
    edit("lib/CHANGELOG.md", log => log.replace("- Forgot the numbers.", "**Numbers that change:** none."));
    edit("notebooks/repeatability/notebook.ipynb", text =>
      text.replace("## Ask one question", "## Ask a question"),
    );
    commit(git);
    const {now} = versionsOf("repeatability");
    const changed = await problemsOf("0.1.1");
    assert.ok(
      changed.includes(`notebooks/repeatability was changed since v0.1.0 and is still ${now}`),
      changed,
    );
    edit("notebooks/repeatability/notebook.ipynb", text =>
      text.replace(`"version": "${now}"`, '"version": "9.0.0"'),
    );
    commit(git);
    const missing = await problemsOf("0.1.1");
    assert.ok(missing.includes(`versions/${now}.ipynb is missing: v0.1.0 released it`), missing);
    const head = git("rev-parse", "HEAD");
    assert.equal(await release(root, ["0.1.1"]), 1);
    assert.equal(git("rev-parse", "HEAD"), head);
    // a check that fails stops it too
    edit("notebooks/repeatability/notebook.ipynb", () =>
      git("show", "v0.1.0:notebooks/repeatability/notebook.ipynb"),
    );
    commit(git);
    assert.equal(await release(root, ["0.1.1"], {check: async () => 1}), 1);
    assert.equal(git("status", "--porcelain"), "");
    assert.equal(git("tag", "--list").trim(), "v0.1.0");
  });
});

describe("npm run newest", () => {
  it("tries every direct dependency but those held back, or those that are named", () => {
    const all = pins(ROOT);
    assert.ok(
      all.every(({version}) => /^\d+\.\d+\.\d+$/.test(version)),
      "every pin is exact",
    );
    const chosen = wanted(all, []);
    assert.ok(typeof chosen !== "string" && chosen.length > 20);
    assert.ok(chosen.every(({name}) => !HELD_BACK.includes(name)));
    assert.deepEqual(
      (wanted(all, ["tslab"]) as {name: string}[]).map(({name}) => name),
      ["tslab"],
    );
    assert.equal(wanted(all, ["left-out"]), '"left-out" is no direct dependency');
  });

  it("holds back what the guide says, with what to check for each", () => {
    const guide = readFileSync(join(ROOT, "DEVELOPERS.md"), "utf8");
    const section = /^## Versions that are held back[\s\S]*?(?=^## )/m.exec(guide)![0];
    const rows = [...section.matchAll(/^\| (\S+) \| ([^|]+) \| ([^|]+) \| ([^|]+) \|$/gm)]
      .map(([, name, , , what]) => ({name: name.toLowerCase(), what: what.trim()}))
      .filter(({name}) => name !== "package");
    assert.deepEqual(
      rows.map(({name}) => name),
      HELD_BACK,
    );
    for (const {name, what} of rows) assert.ok(what.length > 20, name);
  });
});
