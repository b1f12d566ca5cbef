import assert from "node:assert/strict";
import {readdirSync, readFileSync, writeFileSync} from "node:fs";
import {Ajv2020} from "ajv/dist/2020.js";
import {describe, it} from "vitest";
import type {z} from "zod";
import type {
  InspectDocument,
  JudgeDocument,
  SimulateDocument,
  SliceDocument,
} from "../../lib/result/documents.ts";
import type {GatherDocument} from "../../lib/result/gather-document.ts";
import {type DOCUMENT_SCHEMAS, jsonSchemas} from "../../lib/result/schemas/documents.ts";
import type {NewDocument, UpgradeDocument} from "../../lib/result/template-documents.ts";

const folder = new URL("../../lib/schema/", import.meta.url);

/** Fails to compile unless two types are the same. */
type Same<A, B> = (<T>() => T extends A ? 1 : 2) extends <T>() => T extends B ? 1 : 2 ? true : false;
type DocumentOf<Name extends keyof typeof DOCUMENT_SCHEMAS> = z.infer<(typeof DOCUMENT_SCHEMAS)[Name]>;

describe("schemas of documents", () => {
  it("have the types that are written by hand", () => {
    const same: [
      Same<DocumentOf<"inspect">, InspectDocument>,
      Same<DocumentOf<"slice">, SliceDocument>,
      Same<DocumentOf<"gather">, GatherDocument>,
      Same<DocumentOf<"new">, NewDocument>,
      Same<DocumentOf<"upgrade">, UpgradeDocument>,
      Same<keyof DocumentOf<"judge">, keyof JudgeDocument>,
      Same<keyof DocumentOf<"simulate">, keyof SimulateDocument>,
    ] = [true, true, true, true, true, true, true];
    assert.ok(same.every(Boolean));
  });
  it("are committed as JSON Schema, current and complete", () => {
    const current = jsonSchemas();
    if (process.env["FAIRPULL_WRITE_SCHEMAS"]) {
      for (const [name, schema] of Object.entries(current)) {
        writeFileSync(new URL(name, folder), `${JSON.stringify(schema, null, 2)}\n`);
      }
    }
    for (const [name, schema] of Object.entries(current)) {
      const committed = readFileSync(new URL(name, folder), "utf8");
      assert.equal(
        committed,
        `${JSON.stringify(schema, null, 2)}\n`,
        `lib/schema/${name} is not current; run this test with FAIRPULL_WRITE_SCHEMAS=1`,
      );
    }
    for (const name of Object.keys(current)) assert.ok(readdirSync(folder).includes(name));
  });
  it("accept a document and the error in its place, and nothing else", () => {
    const validate = new Ajv2020().compile(jsonSchemas()["slice.json"]);
    const pass = {start_s: 1, elapsed_s: 5, elapsed_u_s: 0.02, distance_m: 100, samples: 50, flags: ["gap"]};
    const document = {
      format: "fairpull.slice/1",
      file: "a.csv",
      band: {from: 60, to: 110, unit: "km/h"},
      passes: [pass],
      unread: {rows: [], columns: []},
    };
    assert.ok(validate(document));
    assert.ok(validate({format: "fairpull.slice/1", error: {code: "option", words: "unknown option"}}));
    assert.ok(!validate({...document, passes: [{...pass, flags: ["odd"]}]}));
    assert.ok(!validate({...document, passes: [{...pass, elapsed_s: null}]}));
    assert.ok(!validate({...document, extra: 1}));
    assert.ok(!validate({format: "fairpull.slice/1"}));
  });
});
