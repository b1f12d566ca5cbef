import assert from "node:assert/strict";
import {mkdtemp, rm, writeFile} from "node:fs/promises";
import {tmpdir} from "node:os";
import path from "node:path";
import {afterAll, beforeAll, describe, it} from "vitest";
import {verifyOne} from "../../lib/dist/cli/verify.js";
import {verifySchema} from "../../lib/result/schemas/verify.ts";

let folder: string;
beforeAll(async () => {
  folder = await mkdtemp(path.join(tmpdir(), "fairpull cli verify "));
});
afterAll(() => rm(folder, {recursive: true}));

describe("verifyOne", () => {
  it("says with exit code 2 that a page or folder is not there", async () => {
    const missing = await verifyOne(path.join(folder, "none.html"));
    assert.equal(missing.exitCode, 2);
    assert.match(verifySchema.parse(missing.document).error!.words, /there is no such file/);
    const aFolder = await verifyOne(folder);
    assert.match(verifySchema.parse(aFolder.document).error!.words, /this is no file/);
  });

  it("says with exit code 1 that a page cannot be computed again, and why", async () => {
    const file = path.join(folder, "page.html");
    await writeFile(file, "<!doctype html><p>5.3 s</p>");
    const {document, exitCode} = await verifyOne(file, {data: folder});
    assert.deepEqual([exitCode, verifySchema.parse(document).outcome], [1, "cannot-run"]);
    assert.match(document.words, /^cannot run: .*carries no record.*give a page written by fairpull publish/);
  });
});
