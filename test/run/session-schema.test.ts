import assert from "node:assert/strict";
import {readFileSync, writeFileSync} from "node:fs";
import {Ajv2020} from "ajv/dist/2020.js";
import {describe, it} from "vitest";
import {parse} from "yaml";
import type {z} from "zod";
import type {Session, SessionRun} from "../../lib/result/session.ts";
import {type SessionFile, sessionJsonSchema, type sessionSchema} from "../../lib/run/session-schema.ts";

const COMMITTED = new URL("../../lib/schema/session.json", import.meta.url);
const text = `${JSON.stringify(sessionJsonSchema(), null, 2)}\n`;

/** Fails to compile unless two types are the same. */
type Same<A, B> = (<T>() => T extends A ? 1 : 2) extends <T>() => T extends B ? 1 : 2 ? true : false;

describe("the schema of the session file", () => {
  it("is committed as JSON Schema for editors", () => {
    if (process.env["FAIRPULL_WRITE_SCHEMAS"]) writeFileSync(COMMITTED, text);
    assert.equal(
      readFileSync(COMMITTED, "utf8"),
      text,
      "lib/schema/session.json is not current; run this test with FAIRPULL_WRITE_SCHEMAS=1",
    );
  });

  it("accepts the demo session, and refuses a misspelt key", () => {
    const schema = new Ajv2020({strict: false}).compile(sessionJsonSchema());
    const validate = (file: object): boolean => schema(file);
    const demo = parse(
      readFileSync(new URL("../../data-demo/intake-elbow/session.yaml", import.meta.url), "utf8"),
    );
    assert.ok(validate(demo), JSON.stringify(schema.errors));
    assert.ok(!validate({...demo, worthwile: "0.15 s"}));
    assert.ok(!validate({...demo, runs: [{...demo.runs[0], arm: "base"}]}));
  });

  it("has the names that the hand-written types have", () => {
    // Quantities change their type when they are read (text → SI number), so the choices and the keys are compared.
    type Plan = NonNullable<SessionFile["plan"]>;
    type Run = NonNullable<SessionFile["runs"]>[number];
    const same: [
      Same<Plan["order"], NonNullable<Session["plan"]>["order"]>,
      Same<keyof Plan, keyof NonNullable<Session["plan"]>>,
      Same<SessionFile["test"], Exclude<Session["test"], "repeatability" | "channels">>,
      Same<SessionFile["primary"], Session["primary"]>,
      Same<SessionFile["arms"], Session["arms"]>,
      Same<Exclude<Run["arm"], "A" | "B">, SessionRun["arm"]>,
      Same<NonNullable<Run["direction"]>, NonNullable<SessionRun["direction"]>>,
      Same<NonNullable<Run["excludedBefore"]>, NonNullable<SessionRun["excludedBefore"]>>,
      Same<z.output<typeof sessionSchema>, SessionFile>,
    ] = [true, true, true, true, true, true, true, true, true];
    assert.ok(same.every(Boolean));
  });
});
