import assert from "node:assert/strict";
import {existsSync} from "node:fs";
import {mkdtemp, readFile, rm, writeFile} from "node:fs/promises";
import {tmpdir} from "node:os";
import path from "node:path";
import {afterAll, beforeAll, describe, it} from "vitest";
import {publishNotebooks} from "../../lib/dist/cli/publish.js";
import {runNotebook, secondsOption} from "../../lib/dist/cli/run.js";
import {notebookText} from "../../lib/notebook/write.ts";
import {publishSchema, runSchema} from "../../lib/result/schemas/notebook.ts";
import {notebookOf} from "../kernel/notebook-of.ts";

let folder: string;

beforeAll(async () => {
  folder = await mkdtemp(path.join(tmpdir(), "fairpull cli "));
  await writeFile(path.join(folder, "good.ipynb"), notebookText(notebookOf("1 + 1", "2")));
  await writeFile(path.join(folder, "bad.ipynb"), notebookText(notebookOf('throw new Error("broken")')));
});
afterAll(() => rm(folder, {recursive: true}));

const at = (name: string) => path.join(folder, name);

describe("runNotebook", () => {
  it("reports what ran", async () => {
    const {document, exitCode} = await runNotebook(at("good.ipynb"));
    assert.equal(exitCode, 0);
    assert.deepEqual(runSchema.parse(document), {
      format: "fairpull.run/1",
      notebook: at("good.ipynb"),
      title: null,
      cells: 2,
      verdict: null,
      result: null,
      inputs: [],
    });
  });

  it("puts a failed cell and a missing file into the document", async () => {
    const failed = await runNotebook(at("bad.ipynb"));
    runSchema.parse(failed.document);
    assert.equal(failed.exitCode, 1);
    assert.equal(failed.document.error!.code, "cell-failed");
    const missing = await runNotebook(at("none.ipynb"));
    assert.equal(missing.exitCode, 2);
    assert.equal(missing.document.error!.code, "notebook-unreadable");
  });
});

describe("publishNotebooks", () => {
  it("writes one notebook to the file that is named", async () => {
    const {document, exitCode} = await publishNotebooks([at("good.ipynb")], {out: at("one.html")});
    publishSchema.parse(document);
    assert.equal(exitCode, 0);
    assert.deepEqual(document.pages, [
      {notebook: at("good.ipynb"), page: at("one.html"), title: "good", verdict: null, result: null},
    ]);
    assert.ok(existsSync(at("one.html")));
  });

  it("writes several to a folder with an index, and goes on after one that fails", async () => {
    const {document, exitCode} = await publishNotebooks([at("bad.ipynb"), at("good.ipynb")], {
      out: at("out"),
    });
    assert.equal(exitCode, 1);
    assert.deepEqual(
      document.pages.map(({page, error}) => [page, error?.code ?? null]),
      [
        [null, "cell-failed"],
        [path.join(folder, "out", "good.html"), null],
      ],
    );
    assert.equal(document.error!.code, "cell-failed");
    assert.match(await readFile(path.join(folder, "out", "index.html"), "utf8"), /href="good\.html"/);
    assert.ok(!existsSync(path.join(folder, "out", "bad.html")));
  });

  it("refuses two notebooks that would become one page", async () => {
    const {document, exitCode} = await publishNotebooks([at("good.ipynb"), at("good.ipynb")], {
      out: at("out"),
    });
    assert.equal(exitCode, 2);
    assert.match(document.error!.words, /two notebooks would become the page good\.html/);
  });
});

describe("secondsOption", () => {
  it("takes a number above 0 and says what else was given", () => {
    assert.equal(secondsOption("2.5"), 2.5);
    for (const text of ["", "0", "-1", "soon"])
      assert.throws(() => secondsOption(text), /a number of seconds above 0/);
  });
});
