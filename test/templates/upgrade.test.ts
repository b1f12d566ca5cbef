import assert from "node:assert/strict";
import {
  cpSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {afterAll, describe, it} from "vitest";
import {upgradeAt} from "../../lib/cli/upgrade.ts";
import type {Notebook} from "../../lib/notebook/notebook.ts";
import {parseNotebook} from "../../lib/notebook/read.ts";
import {notebookText} from "../../lib/notebook/write.ts";
import {newSchema, upgradeSchema} from "../../lib/result/schemas/templates.ts";
import {readSession} from "../../lib/run/session.ts";
import {numbersThatChange} from "../../lib/templates/numbers-that-change.ts";
import {
  listTemplates,
  templateAt,
  templateNamed,
  templatesFolder,
  templateVersions,
} from "../../lib/templates/store.ts";
import {compareVersions} from "../../lib/templates/version.ts";
import {runMain} from "../cli/run-main.ts";

const scratch = mkdtempSync(join(tmpdir(), "fairpull-templates-"));
afterAll(() => rmSync(scratch, {recursive: true, force: true}));

const read = (file: string) => parseNotebook(readFileSync(file, "utf8"), file);

/** A pack with one more version of band-time than the real one: a changed text, a new cell, changed settings. */
function packWithNext(name: string): {templates: string; version: string} {
  const templates = join(scratch, name);
  cpSync(templatesFolder(), templates, {recursive: true});
  const folder = join(templates, "band-time");
  const {version, notebook} = templateNamed("band-time");
  const next = version.replace(/^\d+/, major => String(Number(major) + 1));
  mkdirSync(join(folder, "versions"), {recursive: true});
  writeFileSync(join(folder, "versions", `${version}.ipynb`), notebookText(notebook));
  const changed: Notebook = {
    ...notebook,
    metadata: {
      ...notebook.metadata,
      fairpull: {...(notebook.metadata["fairpull"] as object), version: next},
    },
    cells: notebook.cells.flatMap(cell => {
      if (cell.id === "title") return [{...cell, source: `${cell.source}\n\nA line of ${next}.`}];
      if (cell.id === "settings")
        return [{...cell, source: `${cell.source}\nconst later = ${JSON.stringify(next)};`}];
      if (cell.id === "fool")
        return [cell, {id: "fool-more", cell_type: "markdown" as const, metadata: {}, source: "More."}];
      return [cell];
    }),
  };
  writeFileSync(join(folder, "notebook.ipynb"), notebookText(changed));
  const log = join(folder, "CHANGELOG.md");
  writeFileSync(
    log,
    readFileSync(log, "utf8").replace(
      /^## /m,
      `## ${next}\n\n**Numbers that change:** the band time,\nby 0.001 s.\n\n- A line more.\n\n## `,
    ),
  );
  return {templates, version: next};
}

describe("the pack of notebooks", () => {
  it("has a version, a change log that opens with the numbers that change, and every earlier version it names", () => {
    const all = listTemplates();
    assert.ok(all.length >= 1);
    for (const template of all) {
      const log = readFileSync(join(template.folder, "CHANGELOG.md"), "utf8");
      const versions = [...log.matchAll(/^## (\S+)$/gm)].map(([, version]) => version);
      assert.deepEqual([...versions].reverse(), templateVersions(template), template.name);
      assert.equal(numbersThatChange(template, "0.0.0").length, versions.length, template.name);
      for (const version of versions) assert.ok(templateAt(template, version).cells.length > 0);
    }
  });

  it("tells which version is older", () => {
    const sorted = ["10.0.0", "1.2.0", "1.10.0", "1.2.10", "1.2.9"].sort(compareVersions);
    assert.deepEqual(sorted, ["1.2.0", "1.2.9", "1.2.10", "1.10.0", "10.0.0"]);
    assert.throws(() => compareVersions("1.0", "1.0.0"), {
      name: "RangeError",
      message: /"1\.0" is no version/,
    });
  });
});

describe("fairpull new", () => {
  it("makes a folder that works at once on a copy of the demo data", async () => {
    const {out, err, code} = await runMain(scratch, "new", "band-time", "mine");
    assert.deepEqual([err, code], ["", 0]);
    assert.equal(
      out,
      `mine: notebook.ipynb, session.yaml; next: fairpull publish ${join("mine", "notebook.ipynb")}\n`,
    );
    const folder = join(scratch, "mine");
    assert.match(readFileSync(join(folder, "notebook.ipynb"), "utf8"), /session: \\"session\.yaml\\"/);
    const session = readSession("session.yaml", {cwd: folder});
    for (const run of session.runs) assert.ok(existsSync(join(folder, run.file)));
    const readme = readFileSync(join(folder, "README.md"), "utf8").trim().split("\n").filter(Boolean);
    assert.equal(readme.length, 5);
    assert.match(readme.join("\n"), /invented club/);
  });

  it("drafts the session from the analyst's own logs", async () => {
    const logs = join(scratch, "logs");
    mkdirSync(logs);
    for (const file of ["run-01.csv", "run-02.csv"]) cpSync(join(scratch, "mine", file), join(logs, file));
    const {code, out} = await runMain(scratch, "new", "band-time", "own", "--logs", "logs", "--json");
    assert.equal(code, 0);
    const document = newSchema.parse(JSON.parse(out));
    assert.equal(document.session, join("own", "session.yaml"));
    assert.match(readFileSync(join(scratch, "own", "session.yaml"), "utf8"), /file: .*logs\/run-01\.csv/);
  });

  it("lists the questions, and says what is wrong", async () => {
    const {out} = await runMain(scratch, "new", "--list");
    assert.match(out, /^band-time +Find out whether a part shortens the pull/m);
    const wrong = async (...args: string[]) => {
      const {err, code, out: json} = await runMain(scratch, "new", ...args, "--json");
      assert.equal(code, 2);
      newSchema.parse(JSON.parse(json));
      return err;
    };
    assert.match(await wrong("band-tim", "x"), /no notebook for "band-tim"; did you mean band-time/);
    assert.match(await wrong("weather", "x"), /no notebook for "weather"; there are band-time/);
    assert.match(await wrong("band-time", "mine"), /mine: is there and not empty/);
    assert.match(await wrong("band-time"), /no folder was named/);
    assert.match(await wrong("band-time", "y", "--logs", "nowhere"), /nowhere/);
    assert.ok(!existsSync(join(scratch, "x")));
  });
});

describe("fairpull upgrade", () => {
  const pack = packWithNext("pack");
  const upgrade = (path: string, options = {}) =>
    upgradeAt(path, {...options, templates: pack.templates}, scratch);

  it("carries prose, a changed setting and an added cell to the next version", () => {
    cpSync(join(scratch, "mine"), join(scratch, "carried"), {recursive: true});
    const file = join(scratch, "carried", "notebook.ipynb");
    const mine = read(file);
    const edited: Notebook = {
      ...mine,
      cells: mine.cells.flatMap(cell => {
        if (cell.id === "question-title") return [{...cell, source: "## What we asked\n\nIn our words."}];
        if (cell.id === "verdict")
          return [
            cell,
            {id: "mine-1", cell_type: "markdown" as const, metadata: {}, source: "We will repeat it."},
          ];
        return [cell];
      }),
    };
    writeFileSync(file, notebookText(edited));
    const dry = upgrade("carried", {dryRun: true});
    assert.equal(readFileSync(file, "utf8"), notebookText(edited));
    const {document, exitCode} = upgrade("carried");
    upgradeSchema.parse(document);
    assert.equal(exitCode, 0);
    // `new` has changed the settings itself: that is no change of the analyst's
    assert.deepEqual(document.cells!.updated, ["title", "settings"]);
    assert.deepEqual([document.cells!.added, document.cells!.conflicts], [["fool-more"], []]);
    assert.deepEqual({...dry.document, dry_run: false, backup: document.backup}, document);
    assert.deepEqual(document.numbers_that_change, [
      {version: pack.version, words: "the band time, by 0.001 s."},
    ]);
    const result = read(file);
    const source = (id: string) => result.cells.find(cell => cell.id === id)!.source;
    assert.equal(source("question-title"), "## What we asked\n\nIn our words.");
    assert.equal(source("mine-1"), "We will repeat it.");
    assert.match(source("settings"), /session: "session\.yaml"[\s\S]*const later/);
    assert.equal(readFileSync(join(scratch, document.backup!), "utf8"), notebookText(edited));
    const before = readdirSync(join(scratch, "carried"));
    const text = readFileSync(file, "utf8");
    const second = upgrade("carried");
    assert.equal(second.document.cells, null);
    assert.equal(readFileSync(file, "utf8"), text);
    assert.deepEqual(readdirSync(join(scratch, "carried")), before);
  });

  it("shows a conflict in the notebook, and does not go on before it is settled", () => {
    cpSync(join(scratch, "mine"), join(scratch, "both"), {recursive: true});
    const file = join(scratch, "both", "notebook.ipynb");
    const mine = read(file);
    const settings = mine.cells.find(cell => cell.id === "settings")!;
    settings.source += "\nconst mine = 1;";
    writeFileSync(file, notebookText(mine));
    const {document} = upgrade("both");
    assert.deepEqual([document.cells!.conflicts, document.open_conflicts], [["settings"], 1]);
    const waiting = upgrade("both");
    assert.deepEqual(
      [waiting.exitCode, waiting.document.open_conflicts, waiting.document.cells],
      [0, 1, null],
    );
    const old = read(file);
    (old.metadata["fairpull"] as {version: string}).version = templateNamed("band-time").version;
    writeFileSync(file, notebookText(old));
    const {document: refused, exitCode} = upgrade("both");
    assert.equal(exitCode, 2);
    assert.match(refused.error!.words, /1 marked cells .* not settled \(settings-in-/);
  });

  it("says what is wrong, and leaves the notebook as it is", () => {
    const refused = (change: (notebook: Notebook) => void, name: string): string => {
      cpSync(join(scratch, "mine"), join(scratch, name), {recursive: true});
      const file = join(scratch, name, "notebook.ipynb");
      const notebook = read(file);
      change(notebook);
      const text = notebookText(notebook);
      writeFileSync(file, text);
      const {document, exitCode} = upgrade(name);
      assert.equal(exitCode, 2);
      assert.equal(readFileSync(file, "utf8"), text);
      return `${document.error!.words}; ${document.error!.hint}`;
    };
    const about = (notebook: Notebook) =>
      notebook.metadata["fairpull"] as {version: string; template: string};
    assert.match(
      refused(n => delete n.metadata["fairpull"], "none"),
      /does not say which template/,
    );
    assert.match(
      refused(n => (about(n).template = "bandtime"), "renamed"),
      /no notebook for "bandtime"; did you mean band-time/,
    );
    assert.match(
      refused(n => (about(n).version = "99.0.0"), "newer"),
      /made from version 99\.0\.0 .*install a newer fairpull/,
    );
    assert.match(
      refused(n => (about(n).version = "0.5.0"), "unknown"),
      /version 0\.5\.0 of band-time is not kept; there are/,
    );
    assert.match(
      refused(n => (n.cells[1].id = n.cells[0].id), "twice"),
      /cells 1 and 2 have the same id/,
    );
    assert.match(upgrade("nowhere").document.error!.words, /no such file or folder/);
    mkdirSync(join(scratch, "bare"));
    assert.match(upgrade("bare").document.error!.words, /no notebook\.ipynb/);
  });
});
