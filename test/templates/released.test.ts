import assert from "node:assert/strict";
import {cpSync, existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {afterAll, describe, it} from "vitest";
import {behindWords} from "../../lib/cli/behind.ts";
import {upgradeAt} from "../../lib/cli/upgrade.ts";
import {executeNotebook} from "../../lib/dist/kernel/execute.js";
import {requireVersion} from "../../lib/dist/publish/run.js";
import type {Notebook} from "../../lib/notebook/notebook.ts";
import {parseNotebook} from "../../lib/notebook/read.ts";
import {notebookText} from "../../lib/notebook/write.ts";
import {InputError} from "../../lib/result/error.ts";
import {newFolder} from "../../lib/templates/new.ts";
import {listTemplates, templateAt, templateNamed, templateVersions} from "../../lib/templates/store.ts";
import {requireBuild} from "../repo/built.ts";

const scratch = mkdtempSync(join(tmpdir(), "fairpull-released-"));
afterAll(() => rmSync(scratch, {recursive: true, force: true}));

describe("every released version of every notebook", () => {
  const earlier = listTemplates().flatMap(template =>
    templateVersions(template)
      .filter(version => version !== template.version)
      .map(version => ({template, version})),
  );

  it("is there to be run: at least band-time 1.0.0", () => {
    assert.ok(earlier.some(({template, version}) => template.name === "band-time" && version === "1.0.0"));
  });

  for (const {template, version} of earlier) {
    it(`${template.name} ${version} runs with this library, or says which one it needs`, {
      timeout: 120_000,
    }, async () => {
      requireBuild();
      const notebook = templateAt(template, version);
      try {
        requireVersion(notebook, "notebook.ipynb");
      } catch (error) {
        assert.match((error as Error).message, /needs fairpull/);
        return;
      }
      const run = await executeNotebook(notebook, {folder: template.folder});
      assert.equal(run.failed, null);
    });
  }
});

/** A folder made from band-time 1.0.0, as an analyst has it a year later. */
function oldFolder(name: string, change: (notebook: Notebook) => Notebook): string {
  const folder = join(scratch, name);
  newFolder("band-time", name, {cwd: scratch});
  const settings = parseNotebook(readFileSync(join(folder, "notebook.ipynb"), "utf8"), name).cells.find(
    ({id}) => id === "settings",
  )!;
  const old = templateAt(templateNamed("band-time"), "1.0.0");
  const cells = old.cells.map(cell => (cell.id === "settings" ? settings : cell));
  writeFileSync(join(folder, "notebook.ipynb"), notebookText(change({...old, cells})));
  return folder;
}

describe("band-time 1.0.0", () => {
  it("is carried to the version of today with prose, a changed setting and an added cell, and still runs", {
    timeout: 120_000,
  }, async () => {
    requireBuild();
    const folder = oldFolder("mine", notebook => ({
      ...notebook,
      cells: notebook.cells.flatMap(cell => {
        if (cell.id === "question-title") return [{...cell, source: "## What we asked\n\nIn our words."}];
        if (cell.id === "settings") return [{...cell, source: `${cell.source}\nconst ours = 3;`}];
        if (cell.id === "fool")
          return [
            cell,
            {id: "ours", cell_type: "markdown" as const, metadata: {}, source: "- **Us.** We like it."},
          ];
        return [cell];
      }),
    }));
    const {document, exitCode} = upgradeAt("mine", {}, scratch);
    assert.equal(exitCode, 0);
    assert.deepEqual([document.from, document.to], ["1.0.0", templateNamed("band-time").version]);
    assert.ok(document.cells!.added.includes("afternoon"));
    assert.deepEqual(document.cells!.conflicts, []);
    const result = parseNotebook(readFileSync(join(folder, "notebook.ipynb"), "utf8"), "mine");
    const source = (id: string) => result.cells.find(cell => cell.id === id)?.source;
    assert.equal(source("question-title"), "## What we asked\n\nIn our words.");
    assert.match(source("settings")!, /session: "session\.yaml"[\s\S]*const ours = 3;/);
    assert.equal(source("ours"), "- **Us.** We like it.");
    assert.ok(existsSync(join(scratch, document.backup!)));
    const run = await executeNotebook(result, {folder});
    assert.equal(run.failed, null);
    assert.equal(upgradeAt("mine", {}, scratch).document.cells, null);
  });

  it("is called behind in an index, with whether numbers change", () => {
    const words = (version: string, options = {}) =>
      behindWords({template: {name: "band-time", version}}, options);
    assert.match(
      words("1.0.0")!,
      /^Behind: made from band-time 1\.0\.0, and \d+\.\d+\.\d+ is there; no number changes\./,
    );
    assert.equal(words(templateNamed("band-time").version), null);
    assert.equal(words("99.0.0"), null);
    assert.equal(behindWords({template: null}), null);
    assert.equal(behindWords({template: {name: "somebody's own", version: "1.0.0"}}), null);
    const templates = join(scratch, "pack");
    const {folder} = templateNamed("band-time");
    mkdirSync(templates);
    cpSync(folder, join(templates, "band-time"), {recursive: true});
    const log = join(templates, "band-time", "CHANGELOG.md");
    writeFileSync(
      log,
      readFileSync(log, "utf8").replace("change:** none.", "change:** the interval, by 2 %."),
    );
    assert.match(
      words("1.0.0", {templates})!,
      /numbers change: the interval, by 2 % \(1\.1\.0\)\. fairpull upgrade/,
    );
  });
});

it("an unknown version of a template is told", () => {
  assert.throws(() => templateAt(templateNamed("band-time"), "0.9.0"), InputError);
});
